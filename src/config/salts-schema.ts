/** The salts file: what stocks are mixed from, by formula or by the analysis on the label. */

import { z } from 'zod'
import { type ElementForm, FORMS, isElementForm } from '../chemistry/form.ts'
import { choice, number, quantity, text } from './field.ts'

const LABEL_FORMS = FORMS.filter((form): form is ElementForm => isElementForm(form))

const percent = (form: string) => number(0, 100, `percent ${form} by mass, as printed`, '%').optional()

const label = z
  .strictObject(
    Object.fromEntries(LABEL_FORMS.map((form) => [form, percent(form)])) as Record<
      ElementForm,
      ReturnType<typeof percent>
    >,
  )
  .meta({ description: 'percent by mass of each form as printed on the label' })

// formula or label, exactly one: asked in salts-check.ts, where the message can say which is missing
const salt = z
  .strictObject({
    formula: text('chemical formula with its water, such as Ca(NO3)2.4H2O').optional(),
    purityPercent: number(1, 100, 'share by mass that is the formula', '%').optional(),
    label: label.optional(),
    alkalinityMeqPerG: number(-40, 40, 'alkalinity of one gram; 0 for a neutral salt', 'meq/g').optional(),
    solubilityGPerL: quantity('g/L', 0.1, 3000, 'solubility at 20 °C, g per litre of water').optional(),
    note: text('what a person should know of it', 400).optional(),
  })
  .meta({ description: 'a salt, by formula and purity or by label analysis' })

const reagent = z
  .strictObject({
    formula: text('chemical formula of the acid or base itself'),
    kind: choice(['acid', 'base'], 'which way it moves pH'),
    hazards: text('what it does to people and what to keep it away from', 600),
  })
  .meta({ description: 'an acid or base' })

/** The salts file as written. */
export const saltsSchema = z
  .strictObject({
    salts: z.record(text('name of a salt', 80), salt).meta({ description: 'salts by name' }),
    reagents: z.record(text('name of an acid or base', 80), reagent).meta({ description: 'acids and bases by name' }),
  })
  .meta({ description: 'salts, acids and bases' })

export type SaltsFile = z.output<typeof saltsSchema>
export type SaltEntry = SaltsFile['salts'][string]
