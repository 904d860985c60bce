/** The thread that waits for the disk: it opens each file once more and does what it is asked, in order. */

import { parentPort, workerData } from 'node:worker_threads'
import { openAccessStore } from './access-store.ts'
import { LedgerFault } from './ledger-fault.ts'
import { openSqliteLedger } from './sqlite-ledger.ts'
import type { StoreAnswer, StoreFiles, StoreWish, Writers } from './store-thread.ts'
import { openTelemetryFile } from './telemetry.ts'

type Outcome = StoreAnswer extends infer One ? (One extends StoreAnswer ? Omit<One, 'id'> : never) : never
type Store = Readonly<Record<string, (...args: readonly unknown[]) => unknown>> & {
  close(): void | Promise<void>
}

const files = workerData as StoreFiles
const open = new Map<keyof Writers, Store>()

async function storeOf(name: keyof Writers): Promise<Store> {
  const found = open.get(name)
  if (found) return found
  const opened = (await OPENERS[name]()) as unknown as Store
  open.set(name, opened)
  return opened
}

const OPENERS: Readonly<Record<keyof Writers, () => Promise<Writers[keyof Writers]>>> = {
  ledger: () => openSqliteLedger({ path: files.ledger }),
  telemetry: () => openTelemetryFile({ path: files.telemetry }),
  access: () => openAccessStore(files.access),
}

/** Faults of the disk keep their reason; anything else is a fault of the program and ends the daemon. */
async function outcomeOf({ store, method, args }: StoreWish): Promise<Outcome> {
  try {
    const kept = await storeOf(store)
    return { result: await kept[method]!(...args) }
  } catch (error) {
    if (error instanceof LedgerFault) return { fault: { reason: error.reason, message: error.message } }
    return { failure: error instanceof Error ? (error.stack ?? error.message) : String(error) }
  }
}

async function close(): Promise<void> {
  for (const store of open.values()) await store.close()
  parentPort?.close()
}

let before: Promise<void> = Promise.resolve()
parentPort?.on('message', (wish: StoreWish | 'close') => {
  before = before.then(async () => {
    if (wish === 'close') await close()
    else parentPort?.postMessage({ id: wish.id, ...(await outcomeOf(wish)) })
  })
})
