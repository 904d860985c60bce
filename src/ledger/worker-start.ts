/** Worker threads, from the sources as from the bundle. */

import { type ResourceLimits, Worker } from 'node:worker_threads'

/**
 * The file of a worker beside a module: sources run through the loader of the tests, a bundle as it is.
 *
 * @param base `import.meta.url` of the module that asks
 */
export function workerFile(base: string, name: string): URL {
  return new URL(`./${name}.${base.endsWith('.ts') ? 'ts' : 'js'}`, base)
}

/** Starts a thread on a file; `data` is what it finds as `workerData`, `limits` bound its memory. */
export function startWorker(file: URL, data: unknown, limits: ResourceLimits = {}): Worker {
  const options = { workerData: data, resourceLimits: limits }
  if (!file.pathname.endsWith('.ts')) return new Worker(file, options)
  return new Worker(FROM_SOURCES, { ...options, eval: true, argv: [file.href] })
}

/** A thread of its own does not inherit the loader that runs the sources in tests and while developing. */
const FROM_SOURCES = `import('tsx/esm/api').then(({ register }) => { register(); return import(process.argv[2]) })`
