// How a solution stands to carbon dioxide, packed in one number so that the hot path allocates nothing.

/**
 * Negative: open to a gas whose log10 of CO2 pressure in atm it is (-3.4 for air).
 * Zero or positive: closed, with this much total inorganic carbon, mmol/L. Zero is a solution without carbon.
 */
export type Carbon = number

/** Open air, 10^-3.4 atm = 400 ppm, the pressure of the PHREEQC reference cases; 420 ppm would be -3.38. */
export const OPEN_AIR: Carbon = -3.4

export const NO_CARBON: Carbon = 0

/** Open to a gas at this pressure of CO2. Throws at 1 atm and above: no reservoir meets that. */
export function openCarbon(log10Pco2Atm: number): Carbon {
  if (!(log10Pco2Atm < 0)) throw new Error(`log10 pCO2 must be below 0, not ${log10Pco2Atm}`)
  return log10Pco2Atm
}

/** Closed to the air with this much inorganic carbon. Throws for a negative or non-finite amount. */
export function closedCarbon(inorganicCarbonMmolPerL: number): Carbon {
  if (!(inorganicCarbonMmolPerL >= 0 && inorganicCarbonMmolPerL < Infinity)) {
    throw new Error(`inorganic carbon must be 0 or more, not ${inorganicCarbonMmolPerL}`)
  }
  return inorganicCarbonMmolPerL
}
