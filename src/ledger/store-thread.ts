/**
 * What is written is written by a thread of its own: a disk that hangs holds up that thread and whoever waits for it,
 * never the daemon’s hearing, its leases or its alarms. Reading stays with the daemon: it waits for nothing that must
 * reach a disk.
 */

import type { Worker } from 'node:worker_threads'
import type { AccessStore } from './access-store.ts'
import { LedgerFault, type LedgerFaultReason } from './ledger-fault.ts'
import type { SqliteLedger } from './sqlite-ledger.ts'
import type { TelemetryFile } from './telemetry.ts'
import { startWorker, workerFile } from './worker-start.ts'

/** Paths of the files; the thread opens each when it is first asked for, so whoever asks has made it. */
export interface StoreFiles {
  readonly ledger: string
  readonly telemetry: string
  readonly access: string
}

/** What the thread does, by file. */
export interface Writers {
  readonly ledger: Pick<SqliteLedger, 'append' | 'putSnapshot' | 'hasReserve' | 'raiseTerm'>
  readonly telemetry: Pick<TelemetryFile, 'write'>
  readonly access: Pick<AccessStore, 'addToken' | 'revokeToken' | 'noteUse' | 'ask' | 'answer' | 'forget'>
}

export interface StoreWish {
  readonly id: number
  readonly store: keyof Writers
  readonly method: string
  readonly args: readonly unknown[]
}

export type StoreAnswer =
  | { readonly id: number; readonly result: unknown }
  | { readonly id: number; readonly fault: { readonly reason: LedgerFaultReason; readonly message: string } }
  | { readonly id: number; readonly failure: string }

type Method<S extends keyof Writers, M extends keyof Writers[S]> = Writers[S][M] extends (...args: infer A) => infer R
  ? (...args: A) => Promise<Awaited<R>>
  : never

/** What it handles is gone once it is written, so that more room would only be filled later. MB. */
const LIMITS = { maxYoungGenerationSizeMb: 4 }

interface Asked {
  readonly done: (result: unknown) => void
  readonly fail: (error: Error) => void
}

/** Calls are carried out in the order in which they are made, one after the other. */
export class StoreThread {
  readonly #worker: Worker
  readonly #asked = new Map<number, Asked>()
  #lastId = 0
  #death: Error | undefined

  constructor(files: StoreFiles) {
    this.#worker = startWorker(workerFile(import.meta.url, 'store-worker'), files, LIMITS)
    this.#worker.on('message', (answer: StoreAnswer) => this.#settle(answer))
    this.#worker.on('error', (error: unknown) => this.#die(error instanceof Error ? error : new Error(String(error))))
    this.#worker.on('exit', () => this.#die(new Error('the thread that writes the ledger has ended')))
  }

  /** A method of a store, as a call to the thread. @throws LedgerFault as the method itself; Error where the thread died */
  method<S extends keyof Writers, M extends keyof Writers[S] & string>(store: S, method: M): Method<S, M> {
    const call = (...args: readonly unknown[]): Promise<unknown> => {
      const id = ++this.#lastId
      const answer = this.#answerTo(id)
      this.#worker.postMessage({ id, store, method, args } satisfies StoreWish)
      return answer
    }
    return call as Method<S, M>
  }

  /** Ends the thread once what it was asked is done. */
  async close(): Promise<void> {
    this.#worker.postMessage('close')
    await new Promise<void>((done) => {
      if (this.#death) done()
      else this.#worker.once('exit', () => done())
    })
  }

  #answerTo(id: number): Promise<unknown> {
    if (this.#death) return Promise.reject(this.#death)
    return new Promise((done, fail) => this.#asked.set(id, { done, fail }))
  }

  #settle(answer: StoreAnswer): void {
    const asked = this.#asked.get(answer.id)
    this.#asked.delete(answer.id)
    if ('result' in answer) asked?.done(answer.result)
    else if ('fault' in answer) asked?.fail(new LedgerFault(answer.fault.reason, answer.fault.message))
    else asked?.fail(new Error(answer.failure))
  }

  #die(why: Error): void {
    this.#death ??= why
    for (const { fail } of this.#asked.values()) fail(this.#death)
    this.#asked.clear()
  }
}
