// One bundle for the command, one for the library: native modules and what is only needed now and then stay outside.
import { rmSync } from 'node:fs'
import { build } from 'esbuild'
import { buildPage } from './build-page.mjs'

rmSync('dist', { recursive: true, force: true })
await build({
  entryPoints: {
    main: 'src/main.ts',
    index: 'src/reservoir/index.ts',
    plant: 'simulator/main.ts',
    'seed-worker': 'src/trial/seed-worker.ts',
    'store-worker': 'src/ledger/store-worker.ts',
    // Figures are taken of the bundle, not of the sources; only `npm run bench` asks for it.
    ...(process.argv.includes('--bench')
      ? { bench: 'tests/bench/main.ts', 'estimate-worker': 'tests/bench/estimate-worker.ts' }
      : {}),
  },
  outdir: 'dist',
  bundle: true,
  splitting: true,
  format: 'esm',
  platform: 'node',
  target: 'node20',
  sourcemap: true,
  external: ['better-sqlite3', 'serialport', 'mathjs'],
  banner: {
    js: "import { createRequire as createRequireOfBundle } from 'node:module'; const require = createRequireOfBundle(import.meta.url);",
  },
  logLevel: 'warning',
})
await buildPage()
