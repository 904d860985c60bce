/** What `tarnward amend --json` prints, as a schema. */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'

const element = z.enum(ELEMENTS)
const way = z.enum(['amend-only', 'renew-and-amend', 'start-afresh'])

const amount = z.object({
  name: z.string().describe('salt of the shelf, or stock of the site'),
  exact: z.number().describe('as solved, g of salt or mL of stock'),
  measured: z.number().describe('rounded to what the scale or the measure can do'),
  unit: z.enum(['g', 'mL']),
  isTooCoarse: z.boolean().describe('rounding moves it by more than 5 %'),
})

const option = z.object({
  way,
  amounts: z.array(amount).readonly(),
  saltG: z.number().describe('all salts together, also those in the stocks'),
  waterL: z.number().describe('new water, stocks not counted'),
  dischargeL: z.number(),
  acidMeq: z.number().describe('acid that the new water needs, counted in what it brings'),
  renewalShare: z.number().describe('of the solution replaced in the end, 0 to 1'),
  slices: z.number().describe('renewals one after another'),
  sliceShare: z.number().describe('of the volume, each time'),
  outOfBand: z
    .array(z.object({ element, kind: z.enum(['low', 'high']), why: z.string() }))
    .readonly()
    .describe('what this way leaves outside its band'),
  conductivityDsPerM: z.number().describe('to expect at 25 °C once all is mixed in'),
})

const note = z.object({
  element,
  usedMgPerL: z.number().describe('as reported; at its aim where it was not'),
  isMeasured: z.boolean(),
  endMgPerL: z.number().describe('with the amounts as measured out, mg/L of the element'),
  lowMgPerL: z.number(),
  aimMgPerL: z.number(),
  highMgPerL: z.number(),
  verdict: z.enum(['in band', 'brought in', 'still low', 'still high', 'raised too high']),
  text: z.string(),
})

const report = {
  schema: z.literal('tarnward/amend/1'),
  sample: z.string(),
  sampledAt: z.string().optional(),
  balancePercent: z.number().describe('100 (cations - anions) / (cations + anions)'),
  calculatedDsPerM: z.number().describe('conductivity by composition, at 25 °C'),
  measuredDsPerM: z.number().optional(),
}

const held = z.object({
  ...report,
  kind: z.literal('held'),
  why: z.string(),
  explanations: z
    .array(z.string())
    .readonly()
    .describe('mistakes of form that would explain it, with the misfit before and after'),
})

const amended = z.object({
  ...report,
  kind: z.literal('amendment'),
  crop: z.string(),
  volumeL: z.number(),
  remarks: z.array(z.string()).readonly().describe('doubts about the report, and what was assumed'),
  advised: way,
  advice: z.string(),
  options: z.array(option).readonly(),
  notes: z.array(note).readonly().describe('of the advised way'),
  better: z
    .array(
      z.object({
        name: z.string(),
        grams: z.number(),
        cures: z.array(element).readonly().describe('brought into band only with it'),
        lifts: z
          .array(z.object({ element, mgPerL: z.number() }))
          .readonly()
          .describe('held at the low edge without it, and where they end with it'),
      }),
    )
    .readonly()
    .describe('salts not on the shelf that would serve better'),
  cautions: z.array(z.string()).readonly(),
})

export const amendOutput = z
  .discriminatedUnion('kind', [held, amended])
  .describe('what brings a used reservoir back into its bands; or a report held because its charges do not add up')

export type HeldView = z.output<typeof held>
export type AmendedView = z.output<typeof amended>
export type AmendOptionView = z.output<typeof option>
