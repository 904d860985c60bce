/**
 * How uncertain the unknowns are and how fast they wander. Priors of the method, not of a site; what differs from site
 * to site stands in its configuration. Sources in brackets; where none is named it is a judgement.
 */

const DAY_MS = 86_400_000

export const NOISE = {
  /** first volume as poured, share of it */
  firstVolumeRelative: 0.02,
  /** organic acids, silicate, fluoride: SD 0.1 to 0.2 meq/L at any time, slow; they come, and are used up or fall out */
  untrackedSdMeqPerL: 0.15,
  untrackedTauMs: 30 * DAY_MS,
  /** 400 to 500 ppm of CO2 in a room with a crop, 10^-3.4 in open air */
  logPco2Mean: -3.35,
  logPco2Sd: 0.12,
  logPco2TauMs: 2 * DAY_MS,
  /** growth over weeks comes from the crop; from day to day it varies by a tenth */
  growthTauMs: 40 * DAY_MS,
  growthTodaySd: 0.1,
  growthTodayTauMs: DAY_MS,
  /**
   * A stand draws a fifth more or less than its curve says for as long as its spacing, its room’s humidity and the air
   * past its leaves stay what they are; open water that evaporates adds its few per cent. It shifts as growth does, with
   * the stand and the season. A judgement from these causes, fitted to nothing.
   */
  waterLastingSd: 0.2,
  waterLastingTauMs: 40 * DAY_MS,
  /** transpiration follows the sun within the day */
  waterDrawnSd: 0.5,
  waterDrawnTauMs: DAY_MS / 4,
  /** a crop’s ratios shift slowly, with variety, season and age: over a third of a year */
  uptakeTauMs: 120 * DAY_MS,
  /** an EC probe in a new site reads 3 to 8 % off with the model’s own error; drift 1 to 3 % a month */
  conductivityGainSd: 0.05,
  conductivityGainPerRootDay: 0.004,
  /** shape error of the conductivity model between like solutions: 0.5 % RMS */
  conductivityShapeSd: 0.005,
  conductivityShapeTauMs: 4 * DAY_MS,
  /** two-point calibration; drift 0.05 to 0.2 a month */
  phOffsetSd: 0.06,
  phOffsetPerRootDay: 0.012,
  /** alkalinity that the acid-base model itself is wrong by, meq/L */
  alkalinityModelSdMeqPerL: 0.02,
  alkalinityModelRelative: 0.1,
  /** where pH stands high the water is out of balance with its air and its salts: in full half a pH above, half as much again at most */
  highPhStartsAt: 7.3,
  highPhRisesOver: 0.5,
  highPhShareMax: 1.5,
  /** what alkalinity that nobody takes away holds back of CO2: a factor of three */
  highPhLogPco2Sd: 0.45,
  /** calcium and phosphate that fall out there: 2 ± 6 % a day */
  scalePerDay: 0.02,
  scaleSdPerRootDay: 0.06,
  /** water changes over days, around the report */
  sourceTauMs: 5 * DAY_MS,
  /** tubes wear 0.5 % a week */
  deliveryPerRootDay: 0.001,
  /** part of an element’s uptake that no factor explains, share of a day’s uptake over a day */
  uptakeUnexplained: 0.06,
  /** probe noise left after the median of a grid step, as a share of one reading’s noise */
  fusedNoiseShare: 0.4,
} as const

/** Standard deviation added per step by a random walk given per root day. */
export function walkVariance(perRootDay: number, stepMs: number): number {
  return perRootDay * perRootDay * (stepMs / DAY_MS)
}
