/**
 * Where each unknown stands in the filter’s state vector. The first 15 are amounts of the elements in mmol, in the
 * order of ELEMENTS; what follows is listed here. Factors are kept as natural logarithms, so 0 means "as configured".
 */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'

/** volume of solution with everything that returns to it, L */
export const VOLUME = ELEMENT_COUNT
/** charge of ions that are not tracked (organic acids, silicate, fluoride), meq in all; closes electroneutrality */
export const UNTRACKED = ELEMENT_COUNT + 1
/** how this crop’s growth differs from the configured one, over weeks */
export const GROWTH = ELEMENT_COUNT + 2
/** how today’s growth differs from this week’s */
export const GROWTH_TODAY = ELEMENT_COUNT + 3
/** how the water the crop draws differs from the configured curve, over weeks */
export const WATER_LASTING = ELEMENT_COUNT + 4
/** how the water drawn lately differs from that of these weeks, as a share of the curve: added, so that a day’s sum is unbiased */
export const WATER_DRAWN = ELEMENT_COUNT + 5
/** first of 15: how this crop’s uptake of one element differs from its share of growth, or of water */
export const UPTAKE_FACTOR = ELEMENT_COUNT + 6
/** EC probe: reading over true conductivity as the model knows it; one bias shared by all its readings */
export const CONDUCTIVITY_GAIN = UPTAKE_FACTOR + ELEMENT_COUNT
/** part of the EC misfit that comes and goes with composition and temperature within days */
export const CONDUCTIVITY_SHAPE = CONDUCTIVITY_GAIN + 1
/** pH probe: reading minus true pH */
export const PH_OFFSET = CONDUCTIVITY_GAIN + 2
/** log10 of the CO2 pressure that the solution is open to, atm */
export const LOG_PCO2 = CONDUCTIVITY_GAIN + 3
/** how strong the source water is today against its report */
export const SOURCE_FACTOR = CONDUCTIVITY_GAIN + 4
/** first of one for each stock: what a shot delivers against what is written on it (pump wear and strength together) */
export const DELIVERY_FACTOR = CONDUCTIVITY_GAIN + 5

/** Length of the state vector for a site with so many stocks. */
export function stateSize(stockCount: number): number {
  return DELIVERY_FACTOR + stockCount
}
