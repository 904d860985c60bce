/**
 * A process that appends to a ledger until it is killed. It says a line for every append that was acknowledged,
 * before it begins the next: `owner`, `<head>`…, or `fault <reason>`.
 */
import { writeSync } from 'node:fs'
import { LedgerFault } from '../../src/ledger/ledger-fault.ts'
import { openSqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../../src/ledger/sqlite-ownership.ts'

const [path = '', paddingChars = '0', ballastBytes = '0'] = process.argv.slice(2)
const say = (line: string) => writeSync(1, `${line}\n`)

const ledger = await openSqliteLedger({ path, ballastBytes: Number(ballastBytes) })
const claim = await createSqliteOwnership(ledger).claim('quarry-lane', `writer-${process.pid}`)
if (!('term' in claim)) {
  say(`held by ${claim.heldBy}`)
  process.exit(3)
}
say('owner')
const padding = 'x'.repeat(Number(paddingChars))
let { sequence } = await ledger.head('quarry-lane')
for (;;) {
  const entries = [1, 2, 3].map((n) => ({
    kind: 'judged',
    atMs: sequence + n,
    json: JSON.stringify({ n: sequence + n, padding }),
  }))
  try {
    const head = await ledger.append('quarry-lane', claim.term, sequence, entries)
    if (head === 'fenced') throw new Error('fenced')
    sequence = head
    say(String(sequence))
  } catch (error) {
    if (!(error instanceof LedgerFault)) throw error
    say(`fault ${error.reason}`)
    const trip = [{ kind: 'tripped', atMs: sequence + 1, json: JSON.stringify({ trip: 'disk-full' }) }]
    say(`trip ${await ledger.append('quarry-lane', claim.term, sequence, trip)}`)
    process.exit(0)
  }
}
