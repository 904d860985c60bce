/**
 * Tests as one bundle with shared parts, made once a run. Loaded file by file, every use of an import is a look-up, so
 * that what computes takes half as long again; and each worker loads some hundred files anew.
 */

import { readdirSync, readFileSync, rmSync } from 'node:fs'
import { join, relative } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import { type Plugin as BundlerPlugin, build, type Loader } from 'esbuild'
import type { Plugin } from 'vitest/config'

const ROOT = fileURLToPath(new URL('../..', import.meta.url))
/** Below node_modules, where the runner takes a file as it is. */
const FOLDER = join(ROOT, 'node_modules/.cache', `tests-${process.pid}`)

/**
 * Hands the runner each test out of the bundle.
 *
 * @param setup.leftOut tests that mock a module or load one that they write, relative to the package; they run file by file
 * @param setup.alias names of source files, absolute
 */
export function bundledTests(setup: {
  readonly leftOut: readonly string[]
  readonly alias: Readonly<Record<string, string>>
}): Plugin {
  const files = new Set(testFiles().filter((file) => !setup.leftOut.includes(relative(ROOT, file))))
  return {
    name: 'bundled-tests',
    enforce: 'pre',
    async load(id) {
      if (!files.has(id)) return undefined
      await bundledOnce([...files], setup.alias)
      return `import ${JSON.stringify(pathToFileURL(placeOf(id)).href)}`
    },
  }
}

function testFiles(): readonly string[] {
  return readdirSync(join(ROOT, 'tests'), { recursive: true })
    .map((name) => join(ROOT, 'tests', String(name)))
    .filter((file) => file.endsWith('.test.ts'))
}

function placeOf(file: string): string {
  return join(FOLDER, relative(join(ROOT, 'tests'), file)).replace(/\.ts$/, '.js')
}

let bundled: Promise<unknown> | undefined

/** Each project of the runner asks; the first one is waited for. */
function bundledOnce(files: readonly string[], alias: Readonly<Record<string, string>>): Promise<unknown> {
  bundled ??= bundle(files, alias)
  return bundled
}

function bundle(files: readonly string[], alias: Readonly<Record<string, string>>): Promise<unknown> {
  process.once('exit', () => rmSync(FOLDER, { recursive: true, force: true }))
  return build({
    entryPoints: [...files],
    outdir: FOLDER,
    outbase: join(ROOT, 'tests'),
    bundle: true,
    splitting: true,
    format: 'esm',
    platform: 'node',
    target: 'node20',
    packages: 'external',
    alias,
    define: { 'import.meta.url': URL_OF_FILE },
    sourcemap: 'inline',
    plugins: [placesKept],
    logLevel: 'warning',
  })
}

const URL_OF_FILE = 'urlOfBundledFile'

/** A file that looks for something beside itself still finds it. */
const placesKept: BundlerPlugin = {
  name: 'places-kept',
  setup({ onLoad }) {
    onLoad({ filter: /\.tsx?$/ }, ({ path }) => {
      const text = readFileSync(path, 'utf8')
      if (!text.includes('import.meta.url')) return undefined
      const loader: Loader = path.endsWith('x') ? 'tsx' : 'ts'
      return { contents: `const ${URL_OF_FILE} = ${JSON.stringify(pathToFileURL(path).href)}; ${text}`, loader }
    })
  },
}
