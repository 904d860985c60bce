// A plant as data: what it physically is, how wrong its parts may be, and what happens to it.

import { z } from 'zod'
import { ELEMENTS } from '../src/chemistry/element.ts'
import { UNIT_CODES } from '../src/contract/unit.ts'
import { faultSchema } from './faults.ts'

const name = z.string().regex(/^[a-z0-9][a-z0-9-]{0,47}$/)
const positive = z.number().positive()
const amount = z.number().nonnegative()
const byElement = z.partialRecord(z.enum(ELEMENTS), amount)

const reservoirSchema = z.strictObject({
  volumeL: positive.meta({ description: 'tank and film together when full' }),
  filmL: positive.meta({ description: 'what hangs in the channels while the circulation runs' }),
  overflowL: positive.meta({ description: 'tank content at which it runs over' }),
  flowLPerMin: positive,
  mixingMin: positive.meta({ description: 'time for a dose to be mixed to 95 %' }),
  temperatureC: z.number(),
  evaporationLPerDay: amount.default(0.4),
})

const sourceSchema = z.strictObject({
  elements: byElement.meta({ description: 'mg/L' }),
  alkalinityMgPerLCaco3: amount,
  relativeSd: amount.default(0.05),
})

const fillSchema = z.strictObject({
  elements: byElement.meta({ description: 'mg/L aimed at' }),
  ph: z.number().min(3).max(9),
  relativeSd: amount.default(0.05),
})

const cropSchema = z.strictObject({
  id: name,
  uptakeMmolPerL: byElement.meta({ description: 'mmol per litre transpired on an ordinary day' }),
  sodiumRatio: amount.default(0.25).meta({ description: 'uptake concentration over that of the solution' }),
  chlorideRatio: amount.default(0.35),
  waterStartLPerDay: amount,
  waterFullLPerDay: positive,
  halfwayDays: positive,
})

const cohortSchema = z.strictObject({
  id: name,
  crop: name,
  plants: positive,
  transplantedDay: z.number().meta({ description: 'day of the scenario, negative for before it' }),
  harvestedDay: z.number().optional(),
})

const stockSchema = z.strictObject({
  salts: z.array(z.strictObject({ formula: z.string(), gPerL: positive })).default([]),
  elements: byElement.default({}).meta({ description: 'mg/mL of what has no formula, such as a chelate' }),
  untrackedMeqPerMl: z.number().default(0).meta({ description: 'charge of parts without a name, such as a chelate' }),
  otherGPerL: amount.default(0).meta({ description: 'mass of the parts given by element' }),
  bottleMl: positive.optional(),
})

const pumpSchema = z.strictObject({
  id: name,
  rateMlPerMin: positive,
  maxRunMs: z.number().int().positive(),
  group: name.optional(),
  stock: stockSchema,
})

const probeSchema = z.strictObject({
  id: name,
  quantity: z.enum(['conductivity', 'ph', 'temperature', 'level', 'top-up', 'flow']),
  unit: z.enum(UNIT_CODES),
})

const nodeSchema = z.strictObject({
  id: name,
  heartbeatMs: z.number().int().positive().default(5_000),
  scanMs: z.number().int().positive().default(60_000),
  pumps: z.array(pumpSchema).default([]),
  probes: z.array(probeSchema).default([]),
})

/** How wrong things may be. Defaults: published ranges collected in the project's references; 0 makes a part perfect. */
const spreadSchema = z.strictObject({
  growth: amount.default(0.25),
  uptakeMajor: amount.default(0.12),
  uptakeMinor: amount.default(0.18),
  netAlkalinityMeqPerL: amount.default(0.3),
  water: amount.default(0.08),
  growthDay: amount.default(0.1),
  waterDay: amount.default(0.18),
  temperatureC: amount.default(0.8),
  untrackedMeqPerL: amount.default(0.12),
  conductivityGainLow: amount.default(0.03),
  conductivityGainHigh: amount.default(0.08),
  conductivityNoise: amount.default(0.01),
  conductivityDriftPerMonth: amount.default(0.02),
  phNoise: amount.default(0.02),
  phOffset: amount.default(0.05),
  phDriftPerMonth: amount.default(0.1),
  levelNoise: amount.default(0.003),
  meterGain: amount.default(0.02),
  pumpGain: amount.default(0.02),
  pumpWearPerWeek: amount.default(0.005),
  stockStrength: amount.default(0.03),
  laboratory: amount.default(1).meta({ description: 'scale on all laboratory errors' }),
})

export const scenarioSchema = z.strictObject({
  name,
  startsAt: z.iso.datetime().meta({ description: 'UTC; the plant’s day 0' }),
  utcOffsetMin: z.number().int().default(0).meta({ description: 'lamps and sun keep this time the whole year' }),
  photoperiod: z.strictObject({
    litFromMin: amount,
    litUntilMin: amount,
    darkWaterShare: amount,
    darkGrowthShare: amount,
  }),
  reservoir: reservoirSchema,
  topUp: z.strictObject({ bandL: positive, rateLPerMin: positive }),
  source: sourceSchema,
  firstFill: fillSchema,
  crops: z.array(cropSchema).min(1),
  cohorts: z.array(cohortSchema),
  nodes: z.array(nodeSchema).min(1),
  laboratory: z.strictObject({ firstDay: amount, everyDays: amount, lateDays: amount }),
  renewal: z
    .enum(['none', 'by-hand'])
    .default('none')
    .meta({ description: 'whether somebody lets go each morning what the controller asks for' }),
  spread: spreadSchema.prefault({}),
  faults: z.array(faultSchema).default([]),
})

export type Scenario = z.infer<typeof scenarioSchema>
/** A scenario as it is written, before defaults are filled in. */
export type ScenarioText = z.input<typeof scenarioSchema>
export type Spread = Scenario['spread']
export type CropScenario = Scenario['crops'][number]
export type NodeScenario = Scenario['nodes'][number]
export type PumpScenario = NodeScenario['pumps'][number]
export type ProbeScenario = NodeScenario['probes'][number]

export type ScenarioRead =
  | { readonly kind: 'scenario'; readonly scenario: Scenario }
  | { readonly kind: 'bad-scenario'; readonly problems: readonly string[] }

/** Checks a scenario and fills in its defaults; every problem names its place. */
export function readScenario(text: unknown): ScenarioRead {
  const parsed = scenarioSchema.safeParse(text)
  if (!parsed.success) {
    const problems = parsed.error.issues.map((issue) => `${issue.path.join('.') || 'scenario'}: ${issue.message}`)
    return { kind: 'bad-scenario', problems }
  }
  const problems = danglingNames(parsed.data)
  return problems.length > 0 ? { kind: 'bad-scenario', problems } : { kind: 'scenario', scenario: parsed.data }
}

/** Names that point nowhere: a fault that names no probe of the plant could never fire. */
function danglingNames(scenario: Scenario): string[] {
  const known = {
    crop: new Set(scenario.crops.map(({ id }) => id)),
    node: new Set(scenario.nodes.map(({ id }) => id)),
    pump: new Set(scenario.nodes.flatMap(({ pumps }) => pumps.map(({ id }) => id))),
    probe: new Set(scenario.nodes.flatMap(({ probes }) => probes.map(({ id }) => id))),
  }
  const problems = scenario.cohorts
    .filter(({ crop }) => !known.crop.has(crop))
    .map(({ id, crop }) => `cohorts ${id}: no crop '${crop}' in this scenario`)
  scenario.faults.forEach((fault, at) => {
    const named: [keyof typeof known, string | undefined][] = [
      ['pump', 'pump' in fault ? fault.pump : undefined],
      ['pump', 'with' in fault ? fault.with : undefined],
      ['probe', 'probe' in fault ? fault.probe : undefined],
      ['node', 'node' in fault ? fault.node : undefined],
    ]
    for (const [what, id] of named) {
      if (id !== undefined && !known[what].has(id)) problems.push(`faults.${at} ${fault.kind}: no ${what} '${id}' here`)
    }
  })
  return problems
}
