/** The fast suite that mutants must die of: the gate, the ledger, and a small run of the second model. */

import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    setupFiles: ['tests/support/chance.ts'],
    include: ['tests/safety/*.test.ts', 'tests/unit/ledger/*.test.ts', 'tests/mutation/small-second-model.ts'],
    exclude: ['tests/safety/second-model.test.ts'],
    testTimeout: 30_000,
  },
})
