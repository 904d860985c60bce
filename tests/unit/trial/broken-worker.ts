/** A worker that does its first tasks, says no to 13 and dies at 7. */

import { parentPort } from 'node:worker_threads'

parentPort?.on('message', (task: number) => {
  if (task === 7) process.exit(3)
  parentPort?.postMessage(task === 13 ? { failure: 'thirteen is not done here' } : { result: task * task })
})
