/** Where this package’s own files lie, bundled or not. */

import { existsSync } from 'node:fs'

/** Folder with package.json in it, above this file; ends with a slash. */
export const PACKAGE_FOLDER: URL = find(new URL('./', import.meta.url))

function find(folder: URL): URL {
  if (existsSync(new URL('package.json', folder))) return folder
  const above = new URL('../', folder)
  if (above.href === folder.href)
    throw new Error('the package’s own files are not where they should be; install it again')
  return find(above)
}
