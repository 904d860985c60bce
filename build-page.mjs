// The page as files that any server could give: names carry their content's hash, so a browser may keep them for ever.
import { copyFile, readFile, writeFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { brotliCompressSync, gzipSync } from 'node:zlib'
import { build } from 'esbuild'

const FOLDER = 'dist/page'

/** Bundles the page into dist/page, each file beside its gzip and brotli form. */
export async function buildPage() {
  const { metafile } = await build({
    entryPoints: { page: 'src/page/main.tsx', style: 'src/page/style/page.css' },
    outdir: FOLDER,
    entryNames: '[name]-[hash]',
    chunkNames: '[name]-[hash]',
    bundle: true,
    splitting: true,
    minify: true,
    format: 'esm',
    platform: 'browser',
    target: 'es2022',
    jsx: 'automatic',
    jsxImportSource: 'preact',
    tsconfig: 'src/page/tsconfig.json',
    metafile: true,
    logLevel: 'warning',
  })
  const outputOf = (entry) =>
    basename(Object.entries(metafile.outputs).find(([, output]) => output.entryPoint === entry)[0])
  const html = (await readFile('src/page/page.html', 'utf8'))
    .replace('%STYLE%', outputOf('src/page/style/page.css'))
    .replace('%SCRIPT%', outputOf('src/page/main.tsx'))
  await writeFile(`${FOLDER}/index.html`, html)
  await copyFile('src/page/icon.svg', `${FOLDER}/icon.svg`)
  for (const file of [...Object.keys(metafile.outputs), `${FOLDER}/index.html`]) {
    const bytes = await readFile(file)
    await writeFile(`${file}.gz`, gzipSync(bytes, { level: 9 }))
    await writeFile(`${file}.br`, brotliCompressSync(bytes))
  }
}
