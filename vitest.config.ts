import { defineConfig } from 'vitest/config'

export default defineConfig({
  resolve: { alias: { tarnward: new URL('./src/reservoir/index.ts', import.meta.url).pathname } },
  test: {
    setupFiles: ['tests/support/chance.ts'],
    include: ['tests/**/*.test.ts'],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    fileParallelism: true,
    maxWorkers: 2,
  },
})
