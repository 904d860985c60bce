/** Tasks shared out over worker threads. What comes back is in the order of the tasks, whoever did them. */

import type { Worker } from 'node:worker_threads'
import { startWorker } from '../ledger/worker-start.ts'

export interface PoolJob<Task, Result> {
  /** the worker’s file; it answers each posted task with a `WorkerAnswer` */
  readonly file: URL
  /** what every worker is given once */
  readonly data: unknown
  readonly tasks: readonly Task[]
  /** at most so many threads; never more than tasks */
  readonly workers: number
  /** a task in words, for the message about one that failed */
  nameOf(task: Task): string
  /** @param done how many tasks are done by now, this one among them */
  onDone?(task: Task, done: number, result: Result): void
}

export type WorkerAnswer<Result> = { readonly result: Result } | { readonly failure: string }

/** A task that could not be done: its worker said why, or died. */
export class WorkerFailure extends Error {}

/**
 * Runs every task once.
 *
 * @returns results in the order of `tasks`
 * @throws WorkerFailure that names the task whose worker failed or died; the others are stopped then
 */
export async function runInWorkers<Task, Result>(job: PoolJob<Task, Result>): Promise<readonly Result[]> {
  const results = new Array<Result>(job.tasks.length)
  const pool: Worker[] = []
  const queue = { next: 0, done: 0 }
  const count = Math.min(job.workers, job.tasks.length)
  try {
    await Promise.all(
      Array.from({ length: count }, () => {
        const worker = startWorker(job.file, job.data)
        pool.push(worker)
        return drive(job, worker, queue, results)
      }),
    )
  } finally {
    await Promise.all(pool.map((worker) => worker.terminate()))
  }
  return results
}

interface Queue {
  next: number
  done: number
}

/** Keeps one worker busy until no task is left. */
function drive<Task, Result>(
  job: PoolJob<Task, Result>,
  worker: Worker,
  queue: Queue,
  results: Result[],
): Promise<void> {
  return new Promise((resolve, reject) => {
    let at = -1
    const fail = (why: string): void => {
      const task = job.tasks[at]
      reject(new WorkerFailure(`${task === undefined ? 'a worker' : job.nameOf(task)}: ${why}`))
    }
    const giveNext = (): void => {
      at = queue.next++
      if (at < job.tasks.length) worker.postMessage(job.tasks[at])
      else resolve()
    }
    worker.on('message', (answer: WorkerAnswer<Result>) => {
      if ('failure' in answer) return fail(answer.failure)
      results[at] = answer.result
      job.onDone?.(job.tasks[at]!, ++queue.done, answer.result)
      giveNext()
    })
    worker.on('error', (error) => fail(`the worker died: ${error instanceof Error ? error.message : String(error)}`))
    worker.on('exit', (code) => fail(`the worker died with code ${code}`))
    giveNext()
  })
}
