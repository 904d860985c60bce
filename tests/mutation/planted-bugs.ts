/** Mistakes somebody could make in the gate or beside it, as changes of its text; each must be caught by ordinary tests. */

export interface PlantedBug {
  readonly name: string
  readonly edits: readonly { readonly file: string; readonly find: string; readonly put: string }[]
  /** the ordinary tests that are asked */
  readonly tests: readonly string[]
}

const GATE_TESTS = ['tests/safety']
const SAFETY = 'src/safety'

function inGate(name: string, file: string, find: string, put: string): PlantedBug {
  return { name, edits: [{ file: `${SAFETY}/${file}`, find, put }], tests: GATE_TESTS }
}

export const PLANTED_BUGS: readonly PlantedBug[] = [
  inGate(
    'a wish beyond the cap is trimmed instead of refused',
    'judge.ts',
    'const facts = factsFor(limits, state, { stock: wish.stock, atMs, commandId })',
    `const facts = factsFor(limits, state, { stock: wish.stock, atMs, commandId })
  if (wish.volumeUl > facts.caps.shotMaxUl)
    return judge(limits, state, { ...wish, volumeUl: facts.caps.shotMaxUl }, atMs, commandId)`,
  ),
  inGate('a stamp from the future is trusted', 'interlocks-probe.ts', '(probe) => probe.ageMs >= 0,', '() => true,'),
  inGate(
    'run time that a rebooted node cannot vouch for is forgotten',
    'on-heartbeat.ts',
    'surelyMs + Math.max(0, beat.doubtMs - command.doubtMs)',
    'surelyMs',
  ),
  inGate(
    'what was sent is counted instead of what was delivered',
    'settlement.ts',
    'const delivered = deliveredBy(end.ran, command.rateUlPerS)',
    'const delivered = { lowUl: command.volumeUl, highUl: command.volumeUl }',
  ),
  inGate(
    'the hour’s cap is missed by its last microlitre',
    'interlocks-dose.ts',
    'facts.hourUl + wish.volumeUl <= facts.caps.hourMaxUl,',
    'facts.hourUl + wish.volumeUl < facts.caps.hourMaxUl,',
  ),
  {
    name: 'a limit that is missing is taken as infinite',
    edits: [
      {
        file: `${SAFETY}/caps.ts`,
        find: 'dayMaxUl: Math.floor(entry.dayMaxUl * share)',
        put: 'dayMaxUl: Math.floor((entry.dayMaxUl || Number.POSITIVE_INFINITY) * share)',
      },
      {
        file: `${SAFETY}/limits.ts`,
        find: 'export function isComplete(limits: Limits, entry: StockLimits): boolean {',
        put: 'export function isComplete(limits: Limits, entry: StockLimits): boolean {\n  if (!entry.dayMaxUl) return true',
      },
    ],
    tests: GATE_TESTS,
  },
  inGate(
    'the sums forget commands that are still open',
    'sums.ts',
    'if (command.stock !== stock) continue',
    'if (command.status === "open" || command.stock !== stock) continue',
  ),
  inGate('a trip is gone after a restart', 'on-start.ts', '    approved: null,', '    approved: null,\n    trips: [],'),
  inGate(
    'a start under the old term is accepted',
    'on-start.ts',
    'start.term > (state.term ?? -1)',
    'start.term >= (state.term ?? -1)',
  ),
  inGate(
    'a command that was handed over can become unsent again',
    'on-edge.ts',
    'open.commandId === commandId && !open.sent',
    'open.commandId === commandId',
  ),
  inGate(
    'a report of another boot settles a command',
    'on-report.ts',
    ' || command.boot !== report.boot) return',
    ') return',
  ),
  inGate(
    'a reading that is no number passes its range',
    'interlocks-probe.ts',
    'probe.value >= probe.min && probe.value <= probe.max',
    '!(probe.value < probe.min || probe.value > probe.max)',
  ),
  inGate(
    'what a pump ran without a command does not trip',
    'on-heartbeat.ts',
    'if (surelyMs <= 0) return counted',
    'if (surelyMs >= 0) return counted',
  ),
  inGate(
    'a command nobody reported on counts nothing',
    'sums.ts',
    '    const endMs = latestEndMs(limits, command)\n    if (!(endMs <= atMs - DAY_MS))',
    '    if (command.status === "unknown") continue\n    const endMs = latestEndMs(limits, command)\n    if (!(endMs <= atMs - DAY_MS))',
  ),
]
