/** The figures that a shot was judged by, as a technician reads them: what each is, and its value with a unit. */

import type { Shot } from '../../../shell/api/schema/dose.ts'
import { tellMoment } from '../../data/moment.ts'
import { tellNumber } from '../../data/quantity.ts'

type Figure = Shot['figures'][string]

export interface ToldFigure {
  readonly what: string
  readonly told: string
}

export interface FigureGroup {
  readonly title: string
  readonly figures: readonly ToldFigure[]
}

/** Every figure that the gate records, by its name there; a figure of a probe, stock or element ends in one of `.…`. */
const GROUPS: readonly { readonly title: string; readonly words: Readonly<Record<string, string>> }[] = [
  {
    title: 'The shot',
    words: {
      atMs: 'judged at',
      stock: 'stock',
      planId: 'plan',
      purpose: 'purpose other than a dose',
      withWater: 'with water in place of the stock',
      volumeUl: 'asked for',
      shotMaxUl: 'largest shot allowed',
      runMs: 'run of the pump',
      maxRunMs: 'longest run the pump allows itself',
      rateUlPerS: 'the pump gives',
      startWindowMs: 'must start within',
      commandIdNew: 'never asked for before',
    },
  },
  {
    title: 'This hour and this day',
    words: {
      hourUl: 'given within the hour',
      hourMaxUl: 'allowed within an hour',
      dayUl: 'given within 24 h',
      dayMaxUl: 'allowed within 24 h',
      calibrationRunMaxUl: 'allowed in a measuring run',
      calibrationDayUl: 'measured out within 24 h',
      calibrationDayMaxUl: 'allowed to be measured out within 24 h',
      '.dayNg': 'brought within 24 h',
      '.dayMaxNg': 'allowed within 24 h',
      '.ngPerUl': 'in the stock',
    },
  },
  {
    title: 'Waits',
    words: {
      sinceShotMs: 'since the last shot of this stock',
      gapMs: 'wait between two of its shots',
      '.sinceMs': 'since its last shot',
      mixingMs: 'time until a dose is mixed in',
      sinceAcidMs: 'since acid was given',
      sinceBaseMs: 'since base was given',
      effectWaitMs: 'until the last shot is measured',
    },
  },
  {
    title: 'Acid and base',
    words: {
      isAcid: 'an acid',
      isBase: 'a base',
      acidHourUl: 'acid within the hour',
      acidHourMaxUl: 'acid allowed within the hour',
      acidDayUl: 'acid within 24 h',
      acidDayMaxUl: 'acid allowed within 24 h',
      acidShotMaxUl: 'largest shot of acid in this water',
      acidRateMaxUl: 'acid that the flow carries away at once',
      baseShotMaxUl: 'largest shot of base in this water',
      makeUpHourL: 'make-up water within the hour',
      makeUpDayL: 'make-up water within 24 h',
      meterL: 'make-up meter',
      meterAtMs: 'make-up meter read at',
      meterAgeMs: 'make-up meter read so long before',
    },
  },
  {
    title: 'The bottle',
    words: {
      bottleChecked: 'reckoned with',
      bottleUl: 'filled with',
      sinceRefillUl: 'given since its refill',
      sinceRefillMaxUl: 'allowed since its refill',
      seriesUl: 'largest shot after those that surely came',
      effectChecked: 'its effect on EC is checked',
      unverifiedUl: 'given without its effect seen',
      unverifiedMaxUl: 'allowed without its effect seen',
      showUl: 'least shot that shows in EC',
    },
  },
  {
    title: 'The water',
    words: {
      levelFitted: 'level is measured',
      levelLowestL: 'least that the level may be',
      levelHighestL: 'most that the level may be',
      flowFitted: 'flow is measured',
      flowLowestLPerMin: 'least that the flow may be',
      flowingForMs: 'flowing for',
      phLowest: 'least that the pH may be',
      phHighest: 'most that the pH may be',
      phOldestAgeMs: 'oldest pH reading',
      missingSensors: 'sensors that the limits lack',
      '.value': 'read',
      '.quality': 'its node says',
      '.ageMs': 'read so long before',
      '.sameForMs': 'unchanged for',
    },
  },
  {
    title: 'The node',
    words: {
      node: 'node',
      pump: 'pump',
      nodeOnline: 'online',
      contractKnown: 'speaks this contract',
      boot: 'its start',
      heartbeatAgeMs: 'heard so long before',
      nodeUptimeMs: 'up for',
      nodeTerm: 'term that it obeys',
      totalRunMs: 'this pump ran in all',
      doubtMs: 'of which in doubt',
      runningPump: 'pump that runs now',
      openOfPump: 'command of this pump on its way',
      openOfNode: 'command of this node on its way',
      openFromBefore: 'command from before the start',
      openFromBeforeNode: 'its node',
    },
  },
  {
    title: 'The daemon and its people',
    words: {
      started: 'started',
      term: 'term',
      mode: 'mode',
      approvedPlanId: 'plan that was approved',
      approvalAgeMs: 'approved so long before',
      heldBy: 'held by',
      switchHeld: 'held by a switch',
      trips: 'trips',
      sanitising: 'sanitising',
      linkUp: 'link to the nodes is up',
      diskWritable: 'the disk can be written',
      clockSane: 'the clock is sane',
      limitsComplete: 'the limits are complete',
      rationBy: 'ration approved by',
      rationReason: 'ration, and why',
      rationAgeMs: 'ration approved so long before',
      rationLastsMs: 'ration lasts',
      rationCovers: 'ration stands in for',
      rationUlPerL: 'ration for make-up water',
      rationDayMaxUl: 'ration allowed within 24 h',
      lost: 'probes that are lost',
    },
  },
]

/** In groups and in an order of their own; a figure that nobody has put into words yet comes last under its name. */
export function tellFigures(figures: Shot['figures']): readonly FigureGroup[] {
  const left = new Map(Object.entries(figures))
  const take = (name: string, what: string): ToldFigure[] => {
    const figure = left.get(name)
    if (figure === undefined) return []
    left.delete(name)
    return [{ what, told: tellFigure(name, figure) }]
  }
  const groups = GROUPS.map(({ title, words }) => {
    const plain = Object.entries(words).filter(([name]) => !name.startsWith('.'))
    const owned = Object.entries(words).filter(([name]) => name.startsWith('.'))
    const told = plain.flatMap(([name, what]) => take(name, what))
    // one probe, element or stock after the other, each with all that is known of it
    const owners = new Set([...left.keys()].flatMap((name) => ownerOf(name, owned)))
    for (const owner of owners)
      for (const [ending, what] of owned) told.push(...take(`${owner}${ending}`, `${owner}, ${what}`))
    return { title, figures: told }
  })
  const others = [...left].map(([name, figure]) => ({ what: name, told: tellFigure(name, figure) }))
  return [...groups, { title: 'Others', figures: others }].filter(({ figures: told }) => told.length > 0)
}

function ownerOf(name: string, owned: readonly (readonly [ending: string, what: string])[]): readonly string[] {
  const found = owned.find(([ending]) => name.endsWith(ending))
  return found === undefined ? [] : [name.slice(0, -found[0].length)]
}

/** By the unit that ends its name. */
function tellFigure(name: string, figure: Figure): string {
  if (figure === null || figure === '') return 'none'
  if (typeof figure === 'boolean') return figure ? 'yes' : 'no'
  if (typeof figure === 'string') return figure
  const [, tell] = UNITS.find(([ending]) => name.endsWith(ending)) ?? [undefined, tellPlain]
  return tell(figure)
}

function tellPlain(value: number): string {
  return Number.isInteger(value) ? String(value) : tellNumber(value)
}

/** The longer ending first. */
const UNITS: readonly (readonly [ending: string, tell: (value: number) => string])[] = [
  ['AtMs', (value) => tellMoment(value, 0)],
  ['atMs', (value) => tellMoment(value, 0)],
  ['NgPerUl', (value) => `${tellNumber(value)} mg/L`],
  ['ngPerUl', (value) => `${tellNumber(value)} mg/L`],
  ['UlPerS', (value) => `${tellNumber((value * 60) / 1000)} mL/min`],
  ['UlPerL', (value) => `${tellNumber(value / 1000)} mL/L`],
  ['LPerMin', (value) => `${tellNumber(value)} L/min`],
  ['Ng', (value) => `${tellNumber(value / 1e6)} mg`],
  ['Ul', (value) => `${tellNumber(value / 1000)} mL`],
  ['Ms', tellLength],
  ['L', (value) => `${tellNumber(value)} L`],
]

/** To three figures: beside a limit of 25 min, 24.9 min is what matters. */
function tellLength(ms: number): string {
  const size = Math.abs(ms)
  if (size < 120_000) return `${tellNumber(ms / 1000)} s`
  if (size < 7_200_000) return `${tellNumber(ms / 60_000)} min`
  return size < 172_800_000 ? `${tellNumber(ms / 3_600_000)} h` : `${tellNumber(ms / 86_400_000)} days`
}
