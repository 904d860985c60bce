/** The desk as the API asks it; the command line, which has the files, answers. */

import type {
  DeskAmendQuestion,
  DeskChoices,
  DeskRecipeQuestion,
  DeskStocksQuestion,
  DeskWaterQuestion,
} from './schema/desk.ts'

export type DeskAnswer =
  | { readonly kind: 'answer'; readonly json: unknown }
  | { readonly kind: 'refused'; readonly why: string }

export interface Desk {
  choices(): Promise<DeskChoices>
  water(body: DeskWaterQuestion): Promise<DeskAnswer>
  recipe(body: DeskRecipeQuestion): Promise<DeskAnswer>
  stocks(body: DeskStocksQuestion): Promise<DeskAnswer>
  amend(body: DeskAmendQuestion): Promise<DeskAnswer>
}
