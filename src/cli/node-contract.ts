/** `tarnward node contract`: the device contract for those who build nodes and integrations. */

import { asyncApiDocument } from './asyncapi.ts'

/** Prints the AsyncAPI document as JSON. */
export function nodeContract(version: string): void {
  process.stdout.write(`${JSON.stringify(asyncApiDocument(version), null, 2)}\n`)
}
