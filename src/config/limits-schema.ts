/**
 * The limits file: what may be delivered, whatever the planner thinks. No default stands here for a limit on a
 * stock: what a person did not write down is not allowed.
 */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'
import { choice, id, number, quantity, text } from './field.ts'

/** No acid shot may exceed this, whatever the file says: design ceiling, 0.04 meq per litre of reservoir. */
export const ACID_SHOT_CEILING_MEQ_PER_L = 0.04

const twinsWithin = z
  .strictObject({
    conductivityDsPerM: quantity('dS/m', 0.01, 1, 'for two conductivity probes').optional(),
    ph: number(0.05, 1, 'for two pH probes').optional(),
    temperatureC: number(0.1, 10, 'for two temperature probes', 'degC').optional(),
    levelL: quantity('L', 0.1, 2000, 'for two level probes').optional(),
    flowLPerMin: quantity('L/min', 0.1, 1000, 'for two flow probes').optional(),
  })
  .meta({ description: 'how far two probes of one role may differ; beyond it nothing is dosed' })

const probes = z
  .strictObject({
    scanAgeMaxS: quantity('s', 5, 900, 'older readings are no readings'),
    conductivityMinDsPerM: quantity('dS/m', 0, 6, 'no dose while the raw conductivity is below'),
    conductivityMaxDsPerM: quantity('dS/m', 0.3, 6, 'no dose while the raw conductivity is above'),
    phMin: number(3, 7, 'no dose while the raw pH is below'),
    phMax: number(5, 9, 'no dose while the raw pH is above'),
    temperatureMinC: quantity('degC', 0, 30, 'no dose while the water is colder'),
    temperatureMaxC: quantity('degC', 10, 45, 'no dose while the water is warmer'),
    stuckMin: quantity('min', 10, 2880, 'a conductivity or pH probe that shows the very same value this long is stuck'),
    stuckSlowMin: quantity('min', 10, 20160, 'the same for temperature, level and flow, which may rest').default(2880),
    twinsWithin: twinsWithin.optional(),
  })
  .meta({ description: 'bounds on raw readings' })

const water = z
  .strictObject({
    levelMinL: quantity('L', 5, 20000, 'no dose while less water is there'),
    levelMaxL: quantity('L', 5, 20000, 'no dose while more water is there'),
    flowMinLPerMin: quantity('L/min', 0, 5000, 'no dose while the circulation runs slower'),
    flowSteadyMin: quantity('min', 0, 240, 'no dose sooner than this after the flow came back'),
  })
  .meta({ description: 'bounds on level and circulation' })

const commands = z
  .strictObject({
    heartbeatAgeMaxS: quantity('s', 5, 600, 'a node not heard for this long is absent'),
    startWindowS: quantity('s', 5, 600, 'a command not started by then never starts'),
    reportGraceS: quantity('s', 5, 900, 'how long after its run a shot may stay unreported before it is unknown'),
  })
  .meta({ description: 'bounds on commands' })

const bottle = z
  .strictObject({
    volumeMl: quantity('mL', 10, 200000, 'what the bottle holds when it is full'),
    sinceRefillMaxMl: quantity('mL', 0, 200000, 'most that one filling may give before a person looks'),
    firstShotMl: quantity('mL', 0.1, 1000, 'first shot after a refill, harmless whatever was filled in'),
  })
  .meta({ description: 'what one filling of its bottle may give' })

const notChecked = z
  .strictObject({ notChecked: text('why') })
  .meta({ description: 'a reason why the bottle is not reckoned with' })

const stockEffect = z
  .strictObject({
    conductivityDsPerMPerMlPerL: number(
      -10,
      10,
      'rise of conductivity by 1 mL of it in 1 L; left out, it is proposed from its recipe',
      'dS/m',
    ).optional(),
    confirmed: z.boolean().meta({ description: 'a technician has confirmed it' }),
  })
  .meta({ description: 'what the conductivity probe should see of it' })

/** Most that volume whose effect is not proven may move conductivity, dS/m, whatever the file says: design ceiling. */
export const UNVERIFIED_CEILING_DS_PER_M = 0.1

const effect = z
  .strictObject({
    windowMin: quantity('min', 5, 240, 'how long readings are averaged before a shot, and again once it is mixed'),
    readingsMin: number(3, 10000, 'good readings that each of the two windows has at the least').default(20),
    driftSdDsPerM: number(0.0001, 0.05, 'what else moves conductivity from one window to the other', 'dS/m'),
    tolerance: number(0.02, 0.3, 'a stock within 1 ± this share of its declared response is as declared').default(0.2),
    falseTripRisk: number(1e-9, 0.01, 'risk of a trip where all is as declared').default(1e-6),
    missRisk: number(1e-6, 0.1, 'risk of verifying a stock that is not as declared').default(0.01),
    unverifiedMaxDsPerM: number(
      0.005,
      UNVERIFIED_CEILING_DS_PER_M,
      'volume not yet verified may move conductivity by this at the most',
      'dS/m',
    ).default(UNVERIFIED_CEILING_DS_PER_M),
    showDsPerM: number(0.002, 0.1, 'a shot that is to be seen moves conductivity by this', 'dS/m').default(0.03),
  })
  .meta({ description: 'how the effect of doses is checked on raw readings' })

const calibration = z
  .strictObject({
    runMaxMl: quantity('mL', 0, 5000, 'most that one run for a person may give'),
    dayMaxMl: quantity('mL', 0, 50000, 'most that such runs may give in any 24 hours'),
  })
  .meta({
    description:
      'what its pump may give into a measuring glass, to measure or to try it; it counts like a dose, and without this ' +
      'the pump runs for nobody',
  })

const stock = z
  .strictObject({
    shotMaxMl: quantity('mL', 0, 5000, 'largest single run of the pump'),
    hourMaxMl: quantity('mL', 0, 50000, 'most in any 60 minutes'),
    dayMaxMl: quantity('mL', 0, 200000, 'most in any 24 hours'),
    gapMin: quantity('min', 0, 1440, 'least time between two shots of it'),
    apart: z
      .array(
        z.strictObject({
          from: id('the other stock'),
          min: quantity('min', 0, 1440, 'least time between a shot of the one and a shot of the other'),
        }),
      )
      .meta({
        description:
          'stocks it must not meet before they are mixed in, told at either of the two; [] where there is none',
      }),
    bottle: z.union([bottle, notChecked]).optional(),
    effect: z.union([stockEffect, notChecked]).optional(),
    calibration: calibration.optional(),
  })
  .meta({ description: 'limits of one stock' })

/** What acid and base have in common. */
const reagent = (kind: 'acid' | 'base') => ({
  stocks: z.array(id(`a stock of kind ${kind}`)).min(1, { error: 'at least one stock' }),
  strengthMeqPerMl: number(0.01, 2, `strength of the ${kind} in its bottle; 1 meq/mL is 1 eq/L`, 'meq/mL'),
  reservoirMinL: quantity(
    'L',
    5,
    20000,
    'the least volume the shot rule may count on; a lower level reading counts instead',
  ),
  shotMaxMeqPerL: number(
    0.001,
    ACID_SHOT_CEILING_MEQ_PER_L,
    `most ${kind} in one shot per litre of reservoir`,
    'meq/L',
  ),
  phFreshS: quantity('s', 5, 900, `no ${kind} without a pH reading younger than this`),
  afterFlowMin: quantity('min', 0, 240, `no ${kind} sooner than this after the flow came back`),
})

/** Most acid per litre that flows past, whatever the file says: design ceiling. */
export const ACID_RATE_CEILING_MEQ_PER_L = 0.1

const injection = z
  .strictObject({
    into: choice(
      ['line', 'reservoir'],
      'where the acid goes in: the line to the roots, or the reservoir, where it mixes first',
    ),
    rateMaxMeqPerL: number(0.001, ACID_RATE_CEILING_MEQ_PER_L, 'most acid per litre that flows past', 'meq/L'),
    circulationLPerMin: quantity('L/min', 0.1, 5000, 'circulation that is there at the least; a lower reading counts'),
  })
  .meta({ description: 'the rate of acid over the circulation' })

const buffering = z
  .strictObject({
    sourceMeqPerL: number(0, 20, 'alkalinity of the make-up water, at the least', 'meq/L'),
    makeUpMaxLPerMin: quantity(
      'L/min',
      0.01,
      1000,
      'most that the make-up valve brings; a faster meter is not believed',
    ),
    trimMeqPerHour: number(0, 1000, 'acid that any hour may have beyond its make-up water', 'meq'),
    trimMeqPerDay: number(0, 24000, 'the same for a day: what crop and corrections need', 'meq'),
    reservoirMeqPerL: number(0, 10, 'what the reservoir itself takes up, at the least, before it is too acid', 'meq/L'),
    unmeteredMeqPerHour: number(0, 1000, 'stands for the make-up water at a site without a meter', 'meq').optional(),
  })
  .meta({ description: 'lower bounds on what takes up acid' })

const acid = z
  .strictObject({
    ...reagent('acid'),
    phFloor: number(4.5, 7, 'no acid while the raw pH is at or below'),
    injection,
    buffering,
  })
  .meta({ description: 'what goes for every acid, beside the limits of its stock' })

const base = z
  .strictObject({
    ...reagent('base'),
    phCeiling: number(5, 7.5, 'no base while the raw pH is at or above'),
    acidApartMin: quantity('min', 5, 1440, 'least time between acid and base, whichever comes first'),
  })
  .meta({ description: 'what goes for every base, beside the limits of its stock' })

const elements = z
  .partialRecord(
    z.enum(ELEMENTS, { error: `one of ${ELEMENTS.join(', ')}` }),
    z.strictObject({
      dayMaxMgPerL: number(0, 1000, 'most that all stocks together bring in 24 hours, in the least volume', 'mg/L'),
    }),
  )
  .meta({ description: 'caps by element, over all stocks' })

const ration = z
  .strictObject({
    reason: text('why the crop may be fed by the make-up meter alone for some days', 300),
    covers: z
      .array(choice(['conductivity', 'ph', 'estimator'], 'what it stands in for'))
      .min(1, { error: 'at least one loss' }),
    daysMost: number(0.1, 7, 'an approval is over after so many days', 'days'),
    makeUpMaxLPerMin: quantity(
      'L/min',
      0.01,
      1000,
      'most that the make-up valve brings; a faster meter is not believed',
    ),
    stocks: z
      .record(
        id('a nutrient stock of the site'),
        z.strictObject({
          mlPerL: number(
            0.01,
            100,
            'for a litre of make-up water in 24 hours, all that went in of it included',
            'mL/L',
          ),
          dayMaxMl: quantity('mL', 0, 200000, 'most of it in any 24 hours while a ration runs'),
        }),
      )
      .meta({ description: 'rations by stock' }),
  })
  .meta({ description: 'what may go on, once approved, while one probe or the estimator is lost; never acid or base' })

const notFitted = z
  .strictObject({
    capShare: number(
      0.05,
      1,
      'shot, hour and day caps are multiplied by this once for each missing level or flow probe',
    ),
  })
  .meta({ description: 'how much tighter the caps are at a site without a level or flow probe' })

/** The limits file as written. */
export const limitsSchema = z
  .strictObject({
    mode: choice(['observe', 'advise', 'automatic'], 'mode of a new site: watch only, propose, or act'),
    approvalMin: quantity('min', 5, 10080, 'how long a person’s approval of a plan is good for').default(60),
    probes,
    water,
    notFitted: notFitted.default({ capShare: 0.5 }),
    commands,
    stocks: z.record(id('a stock of the site'), stock).meta({ description: 'limits by stock' }),
    acid: acid.optional(),
    base: base.optional(),
    elements: elements.optional(),
    ration: ration.optional(),
    ceilings: z
      .record(z.string(), z.number({ error: 'a number, in the unit of the limit' }))
      .meta({ description: 'how far a limit may be loosened while the daemon runs, by its path with dots' })
      .optional(),
    effect: z.union([effect, notChecked]).optional(),
  })
  .meta({ description: 'what may be delivered' })

export type LimitsFile = z.output<typeof limitsSchema>
