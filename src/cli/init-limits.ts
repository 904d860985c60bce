/** Limits that a new site can begin with: small against the reservoir, each with the reckoning beside it. */

import { ELEMENT_INDEX, ELEMENTS } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import type { Crops, Salts } from '../config/configuration.ts'
import { stockSettings } from '../reservoir/configure-stock.ts'
import type { StockAnswer } from './init-questions.ts'
import type { SitePlan } from './init-site.ts'

/** One shot may move no element by more than this part of its aim. A judgement: a mistake of one shot is no harm. */
const SHOT_SHARE = 0.02
/** A day’s doses may bring no more than this part of the aim: what a hungry crop takes, and little beyond. A judgement. */
const DAY_SHARE = 0.4
const DRAWN_SHARE = 0.95
/** Half of what the program would allow at all. */
const ACID_SHOT_MEQ_PER_L = 0.02

export interface StockCaps {
  readonly shotMaxMl: number
  readonly hourMaxMl: number
  readonly dayMaxMl: number
}

/** Caps of one stock in the least water there can be, for the element that it moves most. */
export function capsOf(plan: SitePlan, stock: StockAnswer, salts: Salts, crop: Crops[string]): StockCaps {
  const { mmolPerMl } = stockSettings(
    { ...stock, node: 'bench', pump: 'pump', rateMlPerMin: 30, shotMinMl: 1, strengthSd: 0.03 } as Parameters<
      typeof stockSettings
    >[0],
    salts,
  )
  const mostMl = (share: number) =>
    Math.min(
      ...ELEMENTS.flatMap((name) => {
        const mgPerMl = toMgPerL(name, mmolPerMl[ELEMENT_INDEX[name]]!)
        const { aimMgPerL } = crop.bands[name]
        return mgPerMl > 0 && aimMgPerL > 0 && !UNSOUGHT.has(name)
          ? [(share * aimMgPerL * plan.volumeMinL) / mgPerMl]
          : []
      }),
    )
  const shotMaxMl = down(mostMl(SHOT_SHARE))
  return { shotMaxMl, hourMaxMl: down(2 * shotMaxMl), dayMaxMl: Math.max(down(mostMl(DAY_SHARE)), 2 * shotMaxMl) }
}

/** No stock is dosed for them, and a trace of sodium must not bound a stock. */
const UNSOUGHT: ReadonlySet<string> = new Set(['Na', 'Cl', 'NH4-N'])

/** Two figures, never more than the value. */
export function down(value: number): number {
  const unit = 10 ** (Math.floor(Math.log10(value)) - 1)
  return Number((Math.floor(value / unit + 1e-9) * unit).toPrecision(2))
}

/** The file’s text. */
export function limitsText(plan: SitePlan, salts: Salts, crop: Crops[string]): string {
  const { volumeMinL, volumeMaxL, circulationLPerMin, fitted, volumeL } = plan
  return `# What may be delivered at ${plan.name}, whatever the planner thinks. Worked out by tarnward init from ${volumeL} L of water;
# careful on purpose. Loosen a number only with a reason you would tell the person after you.
mode: observe            # watch only, until a person raises it

probes:
  scanAgeMaxS: 180       # older readings are no readings
  conductivityMinDsPerM: 0.2
  conductivityMaxDsPerM: 2.8
  phMin: 4.8
  phMax: 8.2             # wide enough for acid to bring a fresh fill of hard water down
  temperatureMinC: 5
  temperatureMaxC: 35
  stuckMin: 360          # the very same value for six hours is a stuck probe

water:
  levelMinL: ${Math.ceil(volumeMinL * 1.05)}       # a little above the ${volumeMinL} L that everything here is reckoned with
  levelMaxL: ${down(volumeMaxL * 0.99)}
  flowMinLPerMin: ${down(circulationLPerMin / 2)}     # half the circulation of ${circulationLPerMin} L/min: a blocked filter, not a breath
  flowSteadyMin: 10

# Without a level or flow probe every cap below is halved, once for each.
notFitted: { capShare: 0.5 }

commands:
  heartbeatAgeMaxS: 90
  startWindowS: 60
  reportGraceS: 60

# A shot moves no element by more than ${SHOT_SHARE * 100} % of its aim in ${volumeMinL} L, the least water there can be; an hour has room for
# two; a day brings at most ${DAY_SHARE * 100} % of the aim of any element. Calcium stays away from phosphate and sulfate until the
# first is mixed in. One filling gives ${DRAWN_SHARE * 100} % of its bottle; the first shot after a refill is a twentieth of the largest, or the least that the pump delivers truly.
stocks:
${plan.stocks.map((stock) => stockLine(plan, stock.id, { caps: capsOf(plan, stock, salts, crop), apart: apartFrom(plan, stock), gapMin: 5, leastMl: 0.5 })).join('\n')}
${acidText(plan)}
# A day’s doses of all stocks together, ${DAY_SHARE * 100} % of the aim, counted in the least water.
elements:
${ELEMENTS.filter((name) => !UNSOUGHT.has(name) && crop.bands[name].aimMgPerL > 0)
  .map((name) => `  ${name}: { dayMaxMgPerL: ${down(DAY_SHARE * crop.bands[name].aimMgPerL)} }`)
  .join('\n')}
${fitted.level.isFitted ? '' : '# No level is read, so the least volume is reckoned with everywhere.\n'}`
}

function apartFrom({ stocks, mixingMin }: SitePlan, { kind }: StockAnswer): readonly string[] {
  if (kind !== 'calcium') return []
  return stocks
    .filter((other) => other.kind === 'phosphate-sulfate')
    .map(({ id }) => `{ from: ${id}, min: ${mixingMin} }`)
}

interface StockRules {
  readonly caps: StockCaps
  readonly apart: readonly string[]
  readonly gapMin: number
  /** least shot that its pump is taken to deliver truly */
  readonly leastMl: number
}

/** So many runs a day are enough to measure a pump and to measure it again. A judgement. */
const CALIBRATION_RUNS = 8

function stockLine({ bottleL }: SitePlan, id: string, { caps, apart, gapMin, leastMl }: StockRules): string {
  const { shotMaxMl, hourMaxMl, dayMaxMl } = caps
  const bottleMl = bottleL * 1000
  const firstShotMl = Math.min(shotMaxMl, Math.max(leastMl, down(shotMaxMl / 20)))
  const bottle = `{ volumeMl: ${bottleMl}, sinceRefillMaxMl: ${down(DRAWN_SHARE * bottleMl)}, firstShotMl: ${firstShotMl} }`
  const runs = Math.min(dayMaxMl, CALIBRATION_RUNS * shotMaxMl)
  const calibration = `calibration: { runMaxMl: ${shotMaxMl}, dayMaxMl: ${runs} }`
  return `  ${id}: { shotMaxMl: ${shotMaxMl}, hourMaxMl: ${hourMaxMl}, dayMaxMl: ${dayMaxMl}, gapMin: ${gapMin}, apart: [${apart.join(', ')}], bottle: ${bottle}, ${calibration} }`
}

function acidText(plan: SitePlan): string {
  const { volumeMinL, circulationLPerMin, alkalinityMeqPerL, fitted, acid, mixingMin } = plan
  if (acid === null) return ''
  const { eqPerL } = acid
  const shotMaxMl = down((ACID_SHOT_MEQ_PER_L * volumeMinL) / eqPerL)
  const caps = { shotMaxMl, hourMaxMl: down(2 * shotMaxMl), dayMaxMl: Math.max(down(20 * shotMaxMl), 2 * shotMaxMl) }
  const unmetered = fitted.meter.isFitted
    ? ''
    : '\n    unmeteredMeqPerHour: 0   # no meter, so no make-up water is counted on'
  return `${stockLine(plan, 'acid', { caps, apart: [], gapMin: Math.max(mixingMin, 25), leastMl: 0.1 })}

# Acid: diluted, small against the water, and never more than what surely takes it up. Goggles, gloves; acid into water;
# label, safety data sheet and local codes go before this file.
acid:
  stocks: [acid]
  strengthMeqPerMl: ${eqPerL}
  reservoirMinL: ${volumeMinL}
  shotMaxMeqPerL: ${ACID_SHOT_MEQ_PER_L}       # half of the most that the program allows at all
  phFreshS: 180
  phFloor: 5.4
  afterFlowMin: 30
  injection: { into: reservoir, rateMaxMeqPerL: 0.1, circulationLPerMin: ${down(circulationLPerMin / 2)} }
  buffering:
    sourceMeqPerL: ${Number((0.9 * alkalinityMeqPerL).toPrecision(2))}     # nine tenths of the alkalinity that the water’s figures give
    makeUpMaxLPerMin: 5      # more than a float valve of this size brings is not believed
    trimMeqPerHour: ${Number((shotMaxMl * eqPerL).toPrecision(3))}        # one shot beyond what the hour’s make-up water takes up
    trimMeqPerDay: ${down(0.15 * volumeMinL)}        # 0.15 meq/L: about half of what a full crop of lettuce leaves behind in a day
    reservoirMeqPerL: 0.1    # what phosphate and carbonic acid surely take up${unmetered}
`
}
