/** Tasks shared out over worker threads. What comes back is in the order of the tasks, whoever did them. */

import { Worker } from 'node:worker_threads'

export interface PoolJob<Task> {
  /** the worker’s file; it answers each posted task with a `WorkerAnswer` */
  readonly file: URL
  /** what every worker is given once */
  readonly data: unknown
  readonly tasks: readonly Task[]
  /** at most so many threads; never more than tasks */
  readonly workers: number
  /** a task in words, for the message about one that failed */
  nameOf(task: Task): string
  onDone?(task: Task, done: number): void
}

export type WorkerAnswer<Result> = { readonly result: Result } | { readonly failure: string }

/** A task that could not be done: its worker said why, or died. */
export class WorkerFailure extends Error {}

/**
 * The file of a worker beside a module: sources run through the loader of the tests, a bundle as it is.
 *
 * @param base `import.meta.url` of the module that asks
 */
export function workerFile(base: string, name: string): URL {
  return new URL(`./${name}.${base.endsWith('.ts') ? 'ts' : 'js'}`, base)
}

/**
 * Runs every task once.
 *
 * @returns results in the order of `tasks`
 * @throws WorkerFailure that names the task whose worker failed or died; the others are stopped then
 */
export async function runInWorkers<Task, Result>(job: PoolJob<Task>): Promise<readonly Result[]> {
  const results = new Array<Result>(job.tasks.length)
  const pool: Worker[] = []
  const queue = { next: 0, done: 0 }
  const count = Math.min(job.workers, job.tasks.length)
  try {
    await Promise.all(
      Array.from({ length: count }, () => {
        const worker = startWorker(job)
        pool.push(worker)
        return drive(job, worker, queue, results)
      }),
    )
  } finally {
    await Promise.all(pool.map((worker) => worker.terminate()))
  }
  return results
}

function startWorker<Task>({ file, data }: PoolJob<Task>): Worker {
  if (!file.pathname.endsWith('.ts')) return new Worker(file, { workerData: data })
  return new Worker(FROM_SOURCES, { eval: true, workerData: data, argv: [file.href] })
}

/** A thread of its own does not inherit the loader that runs the sources in tests and while developing. */
const FROM_SOURCES = `import('tsx/esm/api').then(({ register }) => { register(); return import(process.argv[2]) })`

interface Queue {
  next: number
  done: number
}

/** Keeps one worker busy until no task is left. */
function drive<Task, Result>(job: PoolJob<Task>, worker: Worker, queue: Queue, results: Result[]): Promise<void> {
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
      job.onDone?.(job.tasks[at]!, ++queue.done)
      giveNext()
    })
    worker.on('error', (error) => fail(`the worker died: ${error instanceof Error ? error.message : String(error)}`))
    worker.on('exit', (code) => fail(`the worker died with code ${code}`))
    giveNext()
  })
}
