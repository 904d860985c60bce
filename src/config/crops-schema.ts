/** The crops file: what each crop takes up and where it wants its solution. */

import { z } from 'zod'
import { ELEMENTS } from '../chemistry/element.ts'
import { id, number, perElement, quantity, text, whole } from './field.ts'

const sd = () => number(0, 1, 'doubt about this element for a crop of this kind, as a share').default(0.15)

const taken = (driver: 'growth' | 'water') =>
  z.strictObject({
    driver: z.literal(driver),
    mmolPerL: number(0, 50, 'mmol taken up per litre transpired on an ordinary day', 'mmol/L'),
    sd: sd(),
  })

const uptake = z
  .discriminatedUnion('driver', [
    taken('growth'),
    taken('water'),
    z.strictObject({
      driver: z.literal('concentration'),
      ratio: number(0, 2, 'concentration taken up over the concentration in the solution'),
      sd: sd(),
    }),
  ])
  .meta({ description: 'how one element is taken up; the driver says what the uptake follows' })

const band = z
  .strictObject({
    lowMgPerL: quantity('mg/L', 0, 2000, 'lower edge; 0 where there is none').default(0),
    aimMgPerL: quantity('mg/L', 0, 2000, 'where it should be'),
    highMgPerL: quantity('mg/L', 0, 2000, 'upper edge'),
    weight: number(0, 100, 'how much it counts beside the others; 0 means it is never steered').default(1),
  })
  .meta({ description: 'target band of one element, mg/L of the element' })

const crop = z
  .strictObject({
    name: text('name for people'),
    source: text('where its figures come from', 400),
    uptake: perElement(() => uptake, 'uptake of every tracked element'),
    growthSd: number(0, 1, 'doubt common to all growth-driven uptake, as a share').default(0.25),
    water: z
      .strictObject({
        startLPerDay: quantity('L', 0, 10, 'water of one plant a day at transplanting'),
        fullLPerDay: quantity('L', 0, 20, 'water of one plant a day when full grown'),
        halfwayDays: whole(1, 200, 'days after transplanting at which it is half way between the two'),
      })
      .meta({ description: 'how thirst grows' }),
    bands: perElement(() => band, 'target band of every tracked element'),
    ph: z
      .strictObject({
        low: number(4.5, 7.5, 'lower edge of the pH band'),
        aim: number(4.5, 7.5, 'where pH should be'),
        high: number(4.5, 7.5, 'upper edge of the pH band'),
      })
      .meta({ description: 'pH band' }),
  })
  .meta({ description: 'one crop' })

/** The crops file as written. */
export const cropsSchema = z
  .strictObject({ crops: z.record(id('name of a crop'), crop).meta({ description: 'crops by name' }) })
  .meta({ description: `crops; every one states the elements ${ELEMENTS.join(', ')}` })

export type CropsFile = z.output<typeof cropsSchema>
