/**
 * Carbon dioxide that the water holds beyond what its air would leave in it. What bicarbonate make-up water and roots
 * bring turns into it where acid keeps pH low, and needs an hour or so to leave. Left out, a pH that stands lower while
 * the crop drinks is laid at the door of probe, phosphate and crop.
 */

import { alkalinityMeqPerL, CHARGE_PER_MMOL } from '../../chemistry/alkalinity.ts'
import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import { CARBON_DIOXIDE_KH, CARBONATE_K1 } from '../../chemistry/equilibrium.ts'
import type { WaterSettings } from '../settings.ts'
import { LOG_PCO2, VOLUME } from './layout.ts'
import type { Uptake } from './uptake.ts'

/** A falling return and a film in its channel give CO2 to the air with this time constant. A judgement, 0.5 to 1.2 h. */
const LEAVES_MS = 48 * 60_000
/** Of the alkalinity that roots leave, what comes as bicarbonate; the rest is hydroxide. A judgement. */
const ROOT_BICARBONATE_SHARE = 0.5
/**
 * Beyond it a pH is the probe’s trouble more often than the water’s, and lime falls out of hard water; from half a pH
 * below, less and less of what comes in turns into CO2 at all. Judgements.
 */
const PH_MOST = 7.8
const PH_FADES_OVER = 0.5
/** Water holds no more CO2 than a tenth of an atmosphere of it leaves, mmol/L. */
const HELD_MOST_MMOL_PER_L = 3.4
/** However fast pH rises, the water keeps this share of what the air would leave in it. A judgement. */
const HELD_LEAST_SHARE = 0.2

/** What of a belief the CO2 hangs on. */
export interface CarbonState {
  readonly mean: Float64Array
  readonly ph: number
  /** inorganic carbon beyond balance with the air, mmol/L; below nothing where pH has just risen */
  readonly carbonExcessMmolPerL: number
}

/** CO2 in balance with air of this log10 pressure in atm, mmol/L. */
function co2OfAir(logPco2: number): number {
  return 1000 * CARBON_DIOXIDE_KH * 10 ** logPco2
}

/** Bicarbonate over CO2 at a pH. */
function bicarbonatePerCo2(ph: number): number {
  return CARBONATE_K1 * 10 ** Math.min(ph, PH_MOST)
}

/** CO2 beyond what the air would leave, mmol/L, for `logPco2At`. */
export function heldCo2MmolPerL({ mean, ph, carbonExcessMmolPerL }: CarbonState): number {
  const held = carbonExcessMmolPerL / (1 + bicarbonatePerCo2(ph))
  return Math.min(HELD_MOST_MMOL_PER_L, Math.max(held, (HELD_LEAST_SHARE - 1) * co2OfAir(mean[LOG_PCO2]!)))
}

/** The pressure of CO2 that water stands under which holds so much more than its air would leave: log10 of atm. */
export function logPco2At(mean: Float64Array, heldMmolPerL: number): number {
  const air = mean[LOG_PCO2]!
  return heldMmolPerL === 0 ? air : air + Math.log10(1 + heldMmolPerL / co2OfAir(air))
}

/** The pressure of CO2 that the water of a belief stands under now: log10 of atm. */
export function logPco2Of(state: CarbonState): number {
  return logPco2At(state.mean, heldCo2MmolPerL(state))
}

/** Bicarbonate that so much water and uptake bring, mmol; what takes alkalinity away brings none. */
export function bicarbonateBroughtMmol(source: WaterSettings, waterL: number, uptake: Uptake): number {
  const { byGrowth, byWater, carried } = uptake
  let left = 0
  for (let at = 0; at < ELEMENT_COUNT; at++)
    left -= CHARGE_PER_MMOL[at]! * (byGrowth[at]! + byWater[at]! + carried[at]!)
  const alkalinity = Math.max(0, alkalinityMeqPerL(source.mmolPerL, source.untrackedMeqPerL))
  return alkalinity * Math.max(0, waterL) + ROOT_BICARBONATE_SHARE * Math.max(0, left)
}

/**
 * Excess at the end of a step that brought so much, at the pH it began with, mmol/L.
 *
 * @param volumeL at its end; water that filled up dilutes what there was, water that was drawn leaves it alone
 */
export function excessAfter(
  before: CarbonState,
  { broughtMmol, volumeL, stepMs }: { readonly broughtMmol: number; readonly volumeL: number; readonly stepMs: number },
): number {
  const tauMs = LEAVES_MS * (1 + bicarbonatePerCo2(before.ph))
  const kept = Math.exp(-stepMs / tauMs)
  const turns = Math.max(0, Math.min(1, (PH_MOST - before.ph) / PH_FADES_OVER))
  const diluted = before.carbonExcessMmolPerL * Math.min(1, before.mean[VOLUME]! / volumeL)
  return diluted * kept + ((turns * broughtMmol) / volumeL) * (1 - kept) * (tauMs / stepMs)
}

/** The same carbon once pH has moved: what bicarbonate the air would leave at the new one is no longer excess. */
export function excessAtPh({ mean, ph, carbonExcessMmolPerL }: CarbonState, newPh: number): number {
  return carbonExcessMmolPerL - (bicarbonatePerCo2(newPh) - bicarbonatePerCo2(ph)) * co2OfAir(mean[LOG_PCO2]!)
}
