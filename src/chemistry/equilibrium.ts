// Equilibrium constants at 25 °C and zero ionic strength, mol/L, each with its source.

const tenTo = (exponent: number) => 10 ** exponent

/** H3PO4 = H + H2PO4: pK 2.168, USGS PHREEQC 3.8.9 phreeqc.dat (CRC Handbook, Perrin 1982: 2.16). */
export const PHOSPHATE_K1 = tenTo(-2.168)
/** H2PO4 = H + HPO4: pK 7.207, phreeqc.dat (CRC 7.21). */
export const PHOSPHATE_K2 = tenTo(-7.207)
/** HPO4 = H + PO4: pK 12.346, phreeqc.dat (CRC 12.32). */
export const PHOSPHATE_K3 = tenTo(-12.346)
/** CO2(g) = CO2(aq), mol/L per atm: -1.468, Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011. */
export const CARBON_DIOXIDE_KH = tenTo(-1.468)
/** CO2(aq) + H2O = H + HCO3: pK 6.352, Plummer & Busenberg 1982. */
export const CARBONATE_K1 = tenTo(-6.352)
/** HCO3 = H + CO3: pK 10.329, Plummer & Busenberg 1982. */
export const CARBONATE_K2 = tenTo(-10.329)
/** NH4 = H + NH3: pK 9.252, phreeqc.dat (CRC 9.25). */
export const AMMONIUM_K = tenTo(-9.252)
/** HSO4 = H + SO4: pK 1.988, phreeqc.dat (CRC 1.99). */
export const BISULFATE_K = tenTo(-1.988)
/** H2O = H + OH: pK 14.0, phreeqc.dat (CRC 13.995). */
export const WATER_K = tenTo(-14)

// Neutral pairs of two doubly charged ions.

/** Ca + SO4 = CaSO4: log K 2.30, wateq4f.dat (phreeqc.dat 2018 to early 2025: 2.25; 3.8.9: 2.14). */
export const PAIR_CASO4 = tenTo(2.3)
/** Mg + SO4 = MgSO4: log K 2.37, wateq4f.dat (phreeqc.dat 3.8.9: 2.42). */
export const PAIR_MGSO4 = tenTo(2.37)
/** Ca + HPO4 = CaHPO4: log K 2.739, phreeqc.dat. */
export const PAIR_CAHPO4 = tenTo(2.739)
/** Mg + HPO4 = MgHPO4: log K 2.87, phreeqc.dat. */
export const PAIR_MGHPO4 = tenTo(2.87)
/** Ca + CO3 = CaCO3(aq): log K 3.22, Plummer & Busenberg 1982. */
export const PAIR_CACO3 = tenTo(3.22)
/** Mg + CO3 = MgCO3(aq): log K 2.98, from memory of phreeqc.dat. */
export const PAIR_MGCO3 = tenTo(2.98)

// Pairs that keep one charge.

/** K + SO4 = KSO4-: log K 0.85, wateq4f.dat and minteq.v4.dat (phreeqc.dat 3.8.9: 1.18). */
export const PAIR_KSO4 = tenTo(0.85)
/** Na + SO4 = NaSO4-: log K 0.70, wateq4f.dat (phreeqc.dat 3.8.9: 0.94). */
export const PAIR_NASO4 = tenTo(0.7)
/** NH4 + SO4 = NH4SO4-: log K 1.03, minteq.v4.dat (phreeqc.dat 3.8.9: 1.353). */
export const PAIR_NH4SO4 = tenTo(1.03)
/** Ca + H2PO4 = CaH2PO4+: log K 1.408, phreeqc.dat. */
export const PAIR_CAH2PO4 = tenTo(1.408)
/** Mg + H2PO4 = MgH2PO4+: log K 1.513, phreeqc.dat. */
export const PAIR_MGH2PO4 = tenTo(1.513)
/** Ca + HCO3 = CaHCO3+: log K 1.11, Plummer & Busenberg 1982. */
export const PAIR_CAHCO3 = tenTo(1.11)
/** Mg + HCO3 = MgHCO3+: log K 1.07, phreeqc.dat. */
export const PAIR_MGHCO3 = tenTo(1.07)

/**
 * Ca + NO3 = CaNO3+: log K 0.28, from the conductance of calcium nitrate by the activity equation used here: Righellato
 * & Davies 1930, Trans. Faraday Soc. 26:592 (from memory). minteq.v4.dat has 0.5 (from memory), phreeqc.dat no such
 * pair. Judged by a concentrate of calcium nitrate (E-stockA-100x): without the pair its conductivity is 10 to 13 %
 * above both databases, with 0.28 it is 0.4 to 3 % below, with 0.5 it is 5 to 7 % below.
 */
export const PAIR_CANO3 = tenTo(0.28)
/** Ca + PO4 = CaPO4-: log K 6.459, from memory of phreeqc.dat; its reference cases give 6.47 to 6.48. */
export const PAIR_CAPO4 = tenTo(6.459)
/** Mg + PO4 = MgPO4-: log K 6.589, from memory of phreeqc.dat; its reference cases give 6.62. */
export const PAIR_MGPO4 = tenTo(6.589)

/** Debye-Hückel A for water at 25 °C, (L/mol)^0.5. */
export const DAVIES_A = 0.5085

/**
 * Ionic strength beyond which activity coefficients are held at their value here, mol/L. Davies turns upward above
 * 0.4 and means nothing above 1, where only concentrated stocks stand.
 */
export const DAVIES_IONIC_STRENGTH_MAX = 1

/**
 * Davies activity coefficient of a singly charged ion; one of charge z has its z² power.
 * Davies 1962, Ion Association: log10 gamma = -A z² (sqrt I/(1 + sqrt I) - 0.3 I).
 */
export function daviesMonovalent(ionicStrengthMolPerL: number): number {
  const held = Math.min(Math.max(ionicStrengthMolPerL, 0), DAVIES_IONIC_STRENGTH_MAX)
  const root = Math.sqrt(held)
  return Math.exp(-DAVIES_A * Math.LN10 * (root / (1 + root) - 0.3 * held))
}
