/** What a millilitre of a stock brings, from what its litre was mixed from. */

import { ELEMENT_COUNT, toVector } from '../chemistry/element.ts'
import { readSalt, type SaltContent } from '../chemistry/salt.ts'
import type { Salts, Site } from '../config/configuration.ts'
import { saltOf } from '../config/salt-entry.ts'
import type { HandSalt, StockSettings } from '../core/settings.ts'

type Stock = Site['stocks'][number]

/** What 1 mL brings; for an acid or base `saltGPerMl` is the mass of the reagent itself. */
type Content = Pick<StockSettings, 'mmolPerMl' | 'alkalinityMeqPerMl' | 'saltGPerMl'>

/** One stock as the core wants it. Throws for a salt or reagent that is not in the salts. */
export function stockSettings(stock: Stock, salts: Salts): StockSettings {
  const { id, node, pump, kind, strengthSd } = stock
  return {
    ...{ id, node, pump, kind, strengthSd },
    rateUlPerS: (stock.rateMlPerMin * 1000) / 60,
    shotMinUl: Math.round(stock.shotMinMl * 1000),
    ...('salts' in stock ? saltContent(stock, salts) : reagentContent(stock, salts)),
  }
}

/** A salt that changes the alkalinity by more would move pH, and with it everything that pH tells; meq/g. */
const NEUTRAL_MEQ_PER_G = 0.05

/** Every salt of the file that a person may weigh into the reservoir without moving its pH. */
export function handSalts(salts: Salts): HandSalt[] {
  return Object.entries(salts.salts).flatMap(([name, entry]) => {
    const { mmolPerG, alkalinityMeqPerG } = contentOf(readSalt(saltOf(entry)), name)
    return Math.abs(alkalinityMeqPerG) > NEUTRAL_MEQ_PER_G ? [] : [{ name, mmolPerG: toVector(mmolPerG) }]
  })
}

function saltContent(stock: Extract<Stock, { readonly salts: unknown }>, salts: Salts): Content {
  const mmolPerMl = new Float64Array(ELEMENT_COUNT)
  let alkalinityMeqPerMl = 0
  let saltGPerMl = 0
  for (const { salt, gPerL } of stock.salts) {
    const entry = salts.salts[salt]
    if (entry === undefined) throw new Error(`stock ${stock.id}: the salt ${salt} is not in the salts`)
    const content = contentOf(readSalt(saltOf(entry)), salt)
    const gPerMl = gPerL / 1000
    toVector(content.mmolPerG).forEach((mmolPerG, at) => {
      mmolPerMl[at]! += mmolPerG * gPerMl
    })
    alkalinityMeqPerMl += content.alkalinityMeqPerG * gPerMl
    saltGPerMl += gPerMl
  }
  return { mmolPerMl, alkalinityMeqPerMl, saltGPerMl }
}

/** The strength in equivalents says how much of the reagent there is: 1 eq/L is 1 meq/mL. */
function reagentContent({ id, reagent }: Extract<Stock, { readonly reagent: unknown }>, salts: Salts): Content {
  const entry = salts.reagents[reagent.name]
  if (entry === undefined) throw new Error(`stock ${id}: the reagent ${reagent.name} is not in the salts`)
  const content = contentOf(readSalt({ kind: 'formula', formula: entry.formula, purity: 1 }), reagent.name)
  const gPerMl = reagent.eqPerL / Math.abs(content.alkalinityMeqPerG)
  return {
    mmolPerMl: toVector(content.mmolPerG).map((mmolPerG) => mmolPerG * gPerMl),
    alkalinityMeqPerMl: content.alkalinityMeqPerG * gPerMl,
    saltGPerMl: gPerMl,
  }
}

function contentOf(read: ReturnType<typeof readSalt>, name: string): SaltContent {
  if (read.kind === 'salt') return read
  throw new Error(`${name}: ${read.problem}`)
}
