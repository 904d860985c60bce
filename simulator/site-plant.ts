// What a site file already says about the plant, in the plant's own words, so that volumes, water, stocks and cohorts
// are written once. A site file states what the grower believes; the plant draws its errors around that.

import { z } from 'zod'
import { type Composition, ELEMENTS } from '../src/chemistry/element.ts'
import type { ScenarioText } from './scenario.ts'
import { alkalinityOf, solutesFromMg } from './solution.ts'

const amounts = z.partialRecord(z.enum(ELEMENTS), z.number())
const saltPart = z.object({ salt: z.string(), gPerL: z.number() })
const stock = z.object({
  node: z.string(),
  pump: z.string(),
  rateMlPerMin: z.number(),
  salts: z.array(saltPart).default([]),
  reagent: z.object({ name: z.string(), eqPerL: z.number() }).optional(),
})
const clock = z.string().regex(/^\d\d:\d\d$/)
const date = z.union([z.string(), z.date()]).transform((day) => new Date(day).getTime())
const siteSchema = z.object({
  salts: z.string(),
  reservoir: z.object({ volumeL: z.number(), filmL: z.number(), mixingMin: z.number(), temperatureC: z.number() }),
  source: z.object({ elements: amounts, alkalinityMgPerLCaco3: z.number(), relativeSd: z.number() }),
  firstFill: z.object({ elements: amounts, ph: z.number(), relativeSd: z.number() }),
  nodes: z.array(z.string()),
  probes: z.array(z.object({ id: z.string(), node: z.string(), role: z.string(), unit: z.string() })),
  stocks: z.array(stock),
  cohorts: z.array(
    z.object({
      id: z.string(),
      crop: z.string(),
      plants: z.number(),
      transplantedOn: date,
      harvestedOn: date.optional(),
    }),
  ),
  photoperiod: z.object({ litFrom: clock, litUntil: clock, darkWaterShare: z.number(), darkGrowthShare: z.number() }),
})
const saltsSchema = z.object({
  salts: z.record(
    z.string(),
    z.object({
      formula: z.string().optional(),
      label: amounts.optional(),
      alkalinityMeqPerG: z.number().default(0),
    }),
  ),
  reagents: z.record(z.string(), z.object({ formula: z.string() })),
})

type Site = z.infer<typeof siteSchema>
type Salts = z.infer<typeof saltsSchema>
type StockText = NonNullable<NonNullable<ScenarioText['nodes'][number]['pumps']>[number]['stock']>

/** Where the salts file of a site lies, as the site file says it. */
export function saltsPathOf(site: unknown): string {
  return siteSchema.parse(site).salts
}

/** How long a node lets a pump run at once, whatever it is told; judgement. */
const MAX_RUN_MS = 240_000
/** Grams in one equivalent of the reagents that a site may name. */
const GRAMS_PER_EQ: Readonly<Record<string, number>> = { HNO3: 63.012, H3PO4: 97.994, H2SO4: 49.039, KOH: 56.105 }

/**
 * The parts of a scenario that the site file settles.
 *
 * @param site the parsed site file
 * @param salts the parsed salts file
 * @param startMs day 0 of the scenario, from which cohort dates are counted
 * @throws where a stock names a salt or reagent that the salts file lacks
 */
export function plantOfSite(site: unknown, salts: unknown, startMs: number): Partial<ScenarioText> {
  const read = siteSchema.parse(site)
  const shelf = saltsSchema.parse(salts)
  const dayOf = (ms: number) => (ms - startMs) / 86_400_000
  const { volumeL, filmL, mixingMin, temperatureC } = read.reservoir
  const { litFrom, litUntil, darkWaterShare, darkGrowthShare } = read.photoperiod
  return {
    reservoir: { volumeL, filmL, mixingMin, temperatureC, overflowL: volumeL * 1.2, flowLPerMin: 10 },
    source: read.source,
    firstFill: { elements: read.firstFill.elements, ph: read.firstFill.ph, relativeSd: read.firstFill.relativeSd },
    photoperiod: { litFromMin: minuteOf(litFrom), litUntilMin: minuteOf(litUntil), darkWaterShare, darkGrowthShare },
    cohorts: read.cohorts.map(({ id, crop, plants, transplantedOn, harvestedOn }) => ({
      ...{ id, crop, plants, transplantedDay: dayOf(transplantedOn) },
      ...(harvestedOn === undefined ? {} : { harvestedDay: dayOf(harvestedOn) }),
    })),
    nodes: read.nodes.map((node) => nodeOfSite(read, shelf, node)),
  }
}

function nodeOfSite(site: Site, shelf: Salts, node: string): ScenarioText['nodes'][number] {
  const probes = site.probes.filter((probe) => probe.node === node)
  return {
    id: node,
    pumps: site.stocks
      .filter((candidate) => candidate.node === node)
      .map((candidate) => ({
        id: candidate.pump,
        rateMlPerMin: candidate.rateMlPerMin,
        maxRunMs: MAX_RUN_MS,
        group: 'dosing',
        stock: stockOf(candidate, shelf),
      })),
    probes: probes.map(({ id, role, unit }) => ({ id, quantity: role, unit })) as NonNullable<
      ScenarioText['nodes'][number]['probes']
    >,
  }
}

function stockOf(site: Site['stocks'][number], shelf: Salts): StockText {
  const salts: { formula: string; gPerL: number }[] = []
  const elements: Record<string, number> = {}
  const unnamed = { meqPerMl: 0, gPerL: 0 }
  for (const { salt, gPerL } of site.salts) {
    const entry = shelf.salts[salt]
    if (!entry) throw new Error(`stock on ${site.pump}: no salt '${salt}' on the shelf`)
    if (entry.formula !== undefined) {
      salts.push({ formula: entry.formula, gPerL })
      continue
    }
    // Percent of the mass; what the label does not name carries the rest of the charge.
    const mgPerMl = Object.entries(entry.label ?? {}).map(([name, percent]) => [name, (percent * gPerL) / 100] as const)
    for (const [name, mg] of mgPerMl) elements[name] = (elements[name] ?? 0) + mg
    const named = alkalinityOf(solutesFromMg(Object.fromEntries(mgPerMl) as Composition))
    unnamed.meqPerMl += (entry.alkalinityMeqPerG * gPerL) / 1000 - named
    unnamed.gPerL += gPerL
  }
  if (site.reagent) salts.push(reagentSalt(site.reagent, shelf, site.pump))
  return { salts, elements, untrackedMeqPerMl: unnamed.meqPerMl, otherGPerL: unnamed.gPerL }
}

function reagentSalt(reagent: { name: string; eqPerL: number }, shelf: Salts, pump: string) {
  const formula = shelf.reagents[reagent.name]?.formula
  const grams = formula === undefined ? undefined : GRAMS_PER_EQ[formula]
  if (formula === undefined || grams === undefined)
    throw new Error(`stock on ${pump}: no reagent '${reagent.name}' here`)
  return { formula, gPerL: reagent.eqPerL * grams }
}

function minuteOf(text: string): number {
  return Number(text.slice(0, 2)) * 60 + Number(text.slice(3))
}
