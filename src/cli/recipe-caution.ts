/** The usual cautions where work can hurt. They remind; labels, data sheets, local codes and licensed people decide. */

export const ACID_CAUTION =
  'Acids burn skin and eyes. Goggles, gloves, apron; have water at hand to rinse. Always acid into water, slowly, never water into acid. Dilute to 1 to 2 eq/L or less for dosing. Never with hypochlorite, peroxide or peracid; never acid and carbonate on one line. Test an acid pump with water first. The label, the safety data sheet and local codes go before what stands here.'

export const SALT_CAUTION =
  'Weigh in good air, keep dust off eyes and lungs. Dissolve one salt after another; calcium salts never meet sulfate or phosphate in a concentrate. Nitrates feed fire, and the sale of some is regulated in places: see the labels and local rules.'

export const DISCHARGE_CAUTION =
  'Nutrient water and brine are not to be let go where you like: local codes decide. Near mains a licensed electrician, and a backflow preventer by local code where drinking water is joined.'
