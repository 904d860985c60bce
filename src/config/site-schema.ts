/** The site file: what stands there. Everything that a person must know to fill it in is in the descriptions. */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'
import { UNIT_CODES } from '../contract/unit.ts'
import { alarmsSchema } from './alarms-schema.ts'
import { choice, day, elementsMgPerL, flag, id, number, quantity, share, text, timeOfDay, whole } from './field.ts'

export const PROBE_ROLES = [
  'conductivity',
  'ph',
  'temperature',
  'level',
  'top-up',
  'flow',
  'hold-switch',
  'leak',
] as const

const fileName = (description: string) => text(description, 400)

const reservoir = z
  .strictObject({
    volumeL: quantity('L', 10, 20000, 'volume with everything that returns to it, at the usual level'),
    volumeMinL: quantity('L', 5, 20000, 'volume at the lowest level that is ever worked with'),
    volumeMaxL: quantity('L', 10, 20000, 'volume at which it overflows'),
    filmL: quantity('L', 0, 5000, 'part of the volume that hangs in the channels while the circulation runs').default(
      0,
    ),
    mixingMin: quantity('min', 1, 240, 'time for a dose to be mixed to 95 %: three turnovers of the circulation'),
    temperatureC: quantity('degC', 2, 40, 'water temperature to reckon with where no probe tells').default(20),
  })
  .meta({ description: 'the body of water under control' })

const source = z
  .strictObject({
    elements: elementsMgPerL('the make-up water by its own laboratory report; what is left out is 0'),
    alkalinityMgPerLCaco3: number(0, 1000, 'total alkalinity of the make-up water, as CaCO3', 'mg/L CaCO3'),
    relativeSd: number(0, 0.5, 'how much the water varies between days, as a share of each value').default(0.05),
  })
  .meta({ description: 'the make-up water' })

const firstFill = z
  .strictObject({
    volumeL: quantity('L', 5, 20000, 'volume of the first fill'),
    elements: elementsMgPerL('the first fill as it was mixed; what is left out is 0'),
    ph: number(
      4,
      8.5,
      'pH of the first fill once it has aerated; left out, the charge of its salts is taken',
    ).optional(),
    relativeSd: number(0, 0.5, 'how well the fill is known, as a share of each value').default(0.05),
  })
  .meta({ description: 'what is in the reservoir when the daemon first starts' })

const probe = z
  .strictObject({
    id: id('the probe’s id on its node'),
    node: id('the node it hangs on'),
    role: choice(PROBE_ROLES, 'what it stands for here; a top-up probe counts metered litres and never goes back'),
    unit: z.enum(UNIT_CODES, { error: `one of ${UNIT_CODES.join(', ')}` }).meta({ description: 'unit the node sends' }),
    compensated: flag('the device already refers conductivity to 25 °C').default(false),
    noiseSd: number(
      0,
      1000,
      'standard deviation of one reading in its unit; for conductivity a share of it',
    ).optional(),
  })
  .meta({ description: 'one probe' })

const stockCommon = {
  id: id('name of the stock, the same as in the limits file'),
  node: id('the node that owns its pump'),
  pump: id('the pump’s id on that node'),
  rateMlPerMin: quantity('mL/min', 0.1, 2000, 'delivery of the pump, from its last calibration'),
  shotMinMl: quantity('mL', 0.01, 1000, 'least shot that the pump delivers truly'),
  strengthSd: number(0, 0.5, 'doubt about pump rate times strength of one batch, as a share').default(0.03),
}

const saltStock = (kind: 'calcium' | 'phosphate-sulfate' | 'neutral') =>
  z.strictObject({
    ...stockCommon,
    kind: z.literal(kind),
    salts: z
      .array(
        z.strictObject({
          salt: text('name of the salt in the salts file'),
          gPerL: quantity('g/L', 0.0001, 1500, 'mass of the salt in a litre of stock'),
        }),
      )
      .min(1, { error: 'at least one salt' })
      .meta({ description: 'what one litre of the stock was mixed from' }),
  })

const reagentStock = (kind: 'acid' | 'base') =>
  z.strictObject({
    ...stockCommon,
    kind: z.literal(kind),
    reagent: z
      .strictObject({
        name: text('name of the acid or base in the salts file'),
        // dilution is the first protection: a pump second of the strong acid would ruin a small reservoir
        eqPerL: number(0.05, 2, 'strength as it stands in the bottle, diluted', 'eq/L'),
      })
      .meta({ description: 'the diluted acid or base' }),
  })

const stock = z
  .discriminatedUnion('kind', [
    saltStock('calcium'),
    saltStock('phosphate-sulfate'),
    saltStock('neutral'),
    reagentStock('acid'),
    reagentStock('base'),
  ])
  .meta({ description: 'a concentrate with its pump; the kind says what it must be kept apart from' })

const cohort = z
  .strictObject({
    id: id('name of the cohort'),
    crop: id('crop, as named in the crops file'),
    plants: whole(1, 100000, 'number of plants'),
    transplantedOn: day('day on which they came into the channels, local'),
    harvestedOn: day('day on which they leave the channels, local').optional(),
  })
  .meta({ description: 'plants of one crop transplanted on one day' })

const photoperiod = z
  .strictObject({
    litFrom: timeOfDay('when it gets light, local time').default('06:00'),
    litUntil: timeOfDay('when it gets dark, local time').default('22:00'),
    darkWaterShare: share('share of a day’s water that is transpired in the dark').default(0.1),
    darkGrowthShare: share('share of a day’s growth-driven uptake that falls in the dark').default(0.37),
  })
  .meta({ description: 'the plants’ day' })

const planning = z
  .strictObject({
    intervalMin: quantity('min', 5, 1440, 'time between plans').default(60),
    gapSharePerDay: number(0, 2, 'share of the gap to the aim closed in a day when the estimate is certain').default(
      0.5,
    ),
    marginSds: number(0, 4, 'distance kept from the edges of a band, in standard deviations').default(1),
    conductivityMaxDsPerM: quantity('dS/m', 0.3, 6, 'the planner lets conductivity rise no further').optional(),
    // at 30 % of the aim one standard deviation reaches the low edge of most bands: a dose would as soon harm as help
    sdMaxShare: number(
      0.05,
      2,
      'an element whose standard deviation is a larger share of its aim is not dosed by its estimate',
    ).default(0.3),
    parity: z
      .strictObject({
        stocks: z.tuple([id('one stock'), id('the other')], { error: 'two stocks' }),
        windowShare: number(0, 10, 'share by which one may run ahead of the other in an interval'),
      })
      .optional()
      .meta({
        description: 'two stocks that are meant to run together, as iron rides in the one and boron in the other',
      }),
  })
  .meta({ description: 'how the planner works' })

const renewal = z
  .strictObject({
    hygieneDays: quantity(
      'day',
      7,
      365,
      'mean age of the solution at which a slice of it goes: no ion shows root exudates or disease',
    ).optional(),
    serveDays: quantity('day', 1, 60, 'how long one renewal of a built-up ion should serve').default(7),
  })
  .meta({ description: 'when part of the solution is let go and filled up again' })

const laboratory = z
  .strictObject({
    // One report is one bottle, one label and one typist; twice the widest swing of a macronutrient between two plans.
    changeMaxShare: share(
      'how far one report may move an element before a second report agrees, as a share of its level or aim',
    ).default(0.4),
    elements: z
      .partialRecord(z.enum(ELEMENTS), number(0.01, 10, 'the same for one element'))
      .default({})
      .meta({ description: 'elements with a bound of their own, each as a share' }),
  })
  .meta({ description: 'how far a laboratory report is trusted on its own' })

const grid = z
  .strictObject({
    stepMin: quantity('min', 1, 60, 'readings are fused over this time').default(10),
    keptDays: quantity('day', 7, 120, 'how far back a late laboratory result can still be placed').default(60),
    checkpointH: quantity('h', 1, 48, 'time between the states kept for running again').default(12),
    slotsPerSlice: whole(1, 2000, 'grid steps run again in one go after a late result').default(72),
  })
  .meta({ description: 'the fixed grid of the estimator' })

const link = z
  .strictObject({
    broker: z
      .string()
      .regex(/^mqtts?:\/\/[^\s]+$/, { error: 'an address such as mqtt://127.0.0.1:1883' })
      .optional()
      .meta({ description: 'where the nodes’ MQTT broker is' }),
    prefix: text('topics begin with this, before the site’s name').default('tarnward/v1'),
    username: text('name at the broker').optional(),
    passwordFile: fileName('file that holds the password and nothing else, relative to this one').optional(),
    serial: z
      .strictObject({
        node: id('the node at the other end'),
        path: text('the port by its lasting name, such as /dev/serial/by-id/…'),
        baudRate: whole(1200, 2_000_000, 'symbols a second').default(115_200),
      })
      .optional()
      .meta({ description: 'one node on a serial line instead of a broker' }),
    leaseS: quantity('s', 15, 600, 'how long a node may run pumps after it was last heard').default(30),
  })
  .meta({ description: 'the way to the pump nodes' })

const prices = z
  .strictObject({
    currency: text('what amounts of money are told in, such as EUR', 12),
    waterPerM3: number(0, 1000, 'price of a cubic metre of source water').default(0),
    perKg: z
      .record(text('name of a salt, acid or base'), number(0, 100000, 'price of a kilogram'))
      .meta({ description: 'prices by name' }),
  })
  .meta({ description: 'what things cost, for reports' })

/** The site file as written. */
export const siteSchema = z
  .strictObject({
    site: id('name of the site, as it stands in the topics'),
    zone: z
      .string({ error: 'a time zone such as Europe/Lisbon' })
      .refine(isZone, { error: 'a time zone such as Europe/Lisbon' })
      .meta({ description: 'time zone of the site' }),
    crops: fileName('the crops file, relative to this one'),
    salts: fileName('the salts file, relative to this one'),
    limits: fileName('the limits file, relative to this one'),
    reservoir,
    source,
    firstFill,
    nodes: z.array(id('id of a node')).min(1, { error: 'at least one node' }).meta({ description: 'the pump nodes' }),
    probes: z.array(probe).meta({ description: 'what is measured' }),
    notFitted: z
      .array(z.strictObject({ role: choice(PROBE_ROLES, 'the probe that is missing'), reason: text('why') }))
      .default([])
      .meta({ description: 'probes this site does without, each with the reason' }),
    stocks: z.array(stock).meta({ description: 'the concentrates' }),
    cohorts: z.array(cohort).meta({ description: 'the plants' }),
    photoperiod: photoperiod.prefault({}),
    planning: planning.prefault({}),
    renewal: renewal.prefault({}),
    grid: grid.prefault({}),
    laboratory: laboratory.prefault({}),
    prices: prices.optional(),
    link: link.prefault({}),
    alarms: alarmsSchema.prefault({}),
  })
  .meta({ description: 'one site' })

export type SiteFile = z.output<typeof siteSchema>

/** Whether a text names a time zone that this machine knows. */
export function isZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone })
    return true
  } catch {
    return false
  }
}
