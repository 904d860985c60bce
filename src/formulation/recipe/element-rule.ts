/** What a recipe may do with each element. */

import { ELEMENT_INDEX, type ElementName } from '../../chemistry/element.ts'

/** Never raised beyond the high edge: harmful in excess, or nothing but renewal lowers them. */
export const NEVER_RAISED: ReadonlySet<ElementName> = new Set(['Na', 'Cl', 'B', 'Mn', 'Zn', 'Cu', 'NH4-N'])

/** Only bounded, never sought. */
export const ONLY_BOUNDED: ReadonlySet<ElementName> = new Set(['Na', 'Cl'])

/** Never short: no crop needs them, and ammonium is gone within a day whatever was weighed in. */
export const WITHOUT_LOW_EDGE: ReadonlySet<ElementName> = new Set(['Na', 'Cl', 'NH4-N'])

/** Elements that may pass their high edge at a price are not carried beyond this multiple of it (a choice of ours). */
export const PRICED_CEILING = 1.5

/** Being over a band costs this many times what being short of it does: uptake takes its time (a choice of ours). */
export const OVER_PRICE = 3

export const NITRATE = ELEMENT_INDEX['NO3-N']
export const AMMONIUM = ELEMENT_INDEX['NH4-N']
