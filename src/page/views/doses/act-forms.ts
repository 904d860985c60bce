import type { ActBody } from '../../../shell/api/schema/act.ts'

export type ActName = ActBody['act']

/** Names of this site that an act may be about. */
export type ActChoice = 'stock' | 'cohort' | 'crop' | 'probe'

interface ActField {
  readonly key: string
  readonly label: string
  readonly type: 'text' | 'number'
  /** what there is to choose from; typed where nothing is known to choose from */
  readonly of?: ActChoice
  readonly unit?: string
  readonly hint?: string
  readonly isOptional?: boolean
}

export interface ActFormShape {
  readonly title: string
  readonly fields: readonly ActField[]
  /** what was typed as the daemon takes it; it checks, this only sorts */
  readonly body: (values: Readonly<Record<string, string>>) => Readonly<Record<string, unknown>>
}

const litres = (key: string, label: string): ActField => ({ key, label, type: 'number', unit: 'L' })
const STOCK: ActField = { key: 'stock', label: 'Stock', type: 'text', of: 'stock' }
const number = (text: string | undefined): number => Number(text ?? Number.NaN)

/** Every act there is, as the few fields a person fills. */
export const ACT_FORMS: Readonly<Record<ActName, ActFormShape>> = {
  noted: {
    title: 'a note on the crop',
    fields: [{ key: 'text', label: 'Note', type: 'text' }],
    body: ({ text }) => ({ text }),
  },
  'topped-up': {
    title: 'topped up with water',
    fields: [litres('volumeL', 'How much')],
    body: ({ volumeL }) => ({ volumeL: number(volumeL) }),
  },
  drained: {
    title: 'let solution go',
    fields: [litres('volumeL', 'How much')],
    body: ({ volumeL }) => ({ volumeL: number(volumeL) }),
  },
  changed: {
    title: 'changed part or all of it',
    fields: [litres('drainedL', 'Let go'), litres('filledL', 'Filled in')],
    body: ({ drainedL, filledL }) => ({ drainedL: number(drainedL), filledL: number(filledL) }),
  },
  'salt-added': {
    title: 'added a salt',
    fields: [
      { key: 'salt', label: 'Salt', type: 'text', hint: 'Its chemical name as in the salts file' },
      { key: 'massG', label: 'Mass', type: 'number', unit: 'g' },
    ],
    body: ({ salt, massG }) => ({ salt, massG: number(massG) }),
  },
  'stock-refilled': {
    title: 'refilled a stock',
    fields: [
      STOCK,
      { key: 'volumeMl', label: 'It holds now', type: 'number', unit: 'mL' },
      {
        ...{ key: 'strength', label: 'Strength', type: 'number', unit: '%', isOptional: true },
        hint: 'Of what the recipe says: 80 for a weaker batch; empty where it is as the recipe says',
      },
      { key: 'batch', label: 'Batch', type: 'text', isOptional: true, hint: 'Lots, date, who mixed it' },
    ],
    body: ({ stock, volumeMl, strength, batch }) => ({
      ...{ stock, volumeMl: number(volumeMl) },
      ...(strength ? { batchStrength: number(strength) / 100 } : {}),
      ...(batch ? { batch } : {}),
    }),
  },
  'bottle-weighed': {
    title: 'weighed a bottle',
    fields: [STOCK, { key: 'massG', label: 'Mass', type: 'number', unit: 'g' }],
    body: ({ stock, massG }) => ({ stock, massG: number(massG) }),
  },
  transplanted: {
    title: 'transplanted',
    fields: [
      { key: 'crop', label: 'Crop', type: 'text', of: 'crop' },
      { key: 'plants', label: 'Plants', type: 'number' },
      { key: 'cohort', label: 'Name of the cohort', type: 'text', hint: 'A new name, such as basil-2' },
    ],
    body: ({ crop, plants, cohort }) => ({ crop, plants: number(plants), cohort }),
  },
  harvested: {
    title: 'harvested',
    fields: [{ key: 'cohort', label: 'Cohort, all of it', type: 'text', of: 'cohort' }],
    body: ({ cohort }) => ({ cohort }),
  },
  rinsed: { title: 'rinsed after sanitising', fields: [], body: () => ({}) },
  'probe-checked': {
    title: 'checked a probe',
    fields: [{ key: 'probe', label: 'Probe', type: 'text', of: 'probe' }],
    body: ({ probe }) => ({ probe }),
  },
}
