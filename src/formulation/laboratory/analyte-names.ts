/** The names of analytes on reports. */

import { wordsOf } from './word-list.ts'

/**
 * What laboratories call things, in the languages met most often: lower case, without accents, charges, blanks around
 * dashes and qualifiers such as 'dissolved'. Keys are forms, kinds of analyte, or names whose form stays open.
 */
export const NAMES: Readonly<Record<string, readonly string[]>> = {
  'NO3-N': wordsOf(`
    no3-n, no3n, n-no3, nitrate-n, nitrate nitrogen, nitrate-nitrogen, nitrogen nitrate, nitrogen-nitrate,
    nitrat-n, nitrat-stickstoff, nitratstickstoff, azote nitrique, nitrogeno nitrico, azoto nitrico, nitraat-n,
    nitraatstikstof, azot azotanowy, nitratkvave, nitrat-kvave, nitratnitrogen, nitrogenio nitrico,
    nitraat-stikstof, stikstof nitraat, azote des nitrates, azoto da nitrati, nitrogeno de nitratos, n nitrico,
    n nitrique, nitrogen as nitrate, nitratkvaelstof, nitrat-kvaelstof`),
  NO3: wordsOf('no3'),
  'NH4-N': wordsOf(`
    nh4-n, nh4n, n-nh4, ammonium-n, ammonium nitrogen, ammonium-nitrogen, ammonia-n, ammonia nitrogen,
    ammonia-nitrogen, nh3-n, nitrogen ammonium, nitrogen-ammonium, nitrogen ammonia, nitrogen-ammonia,
    ammoniacal nitrogen, ammoniacal-n, ammonium-stickstoff, ammoniumstickstoff, azote ammoniacal,
    nitrogeno amoniacal, azoto ammoniacale, ammoniumstikstof, azot amonowy, ammoniumkvave, ammonium-kvave,
    ammoniumnitrogen, nitrogenio amoniacal, azoto amoniacal, ammonium-stikstof, stikstof ammonium, azoto ammonico, n amoniacal,
    n ammoniacal, nitrogen as ammonium, nitrogen as ammonia, ammoniumkvaelstof, ammonium-kvaelstof`),
  NH4: wordsOf('nh4'),
  P: wordsOf(`
    p, phosphorus, phosphorous, po4-p, p-po4, phosphate-p, phosphat-p, fosfaat-p, orthophosphate-p,
    phosphate phosphorus, phosphor, phosphore, fosforo, fosfor, fosfatfosfor, fosfat-p, ortofosfat-p,
    fosfor fosforanowy, orthophosphate phosphorus, orthophosphat-p, ortho-phosphat-p, ortho-p, o-po4-p, p-orthophosphate`),
  PO4: wordsOf('po4'),
  H2PO4: wordsOf(`
    h2po4, dihydrogenphosphat, dihydrogen phosphate, dihydrogenfosfaat, diwaterstoffosfaat, dihydrogenophosphate,
    dihidrogenofosfato`),
  HPO4: wordsOf('hpo4, hydrogenphosphat, hydrogen phosphate, hydrogenophosphate'),
  P2O5: wordsOf('p2o5'),
  K: wordsOf('k, potassium, kalium, potasio, potassio, potas'),
  K2O: wordsOf('k2o, potash'),
  Ca: wordsOf('ca, calcium, kalzium, calcio, wapn, kalcium'),
  CaO: wordsOf('cao'),
  Mg: wordsOf('mg, magnesium, magnesio, magnez'),
  MgO: wordsOf('mgo'),
  S: wordsOf(`
    s, sulfur, sulphur, so4-s, s-so4, sulfate-s, sulfat-s, sulfaat-s, sulphate-s, sulfate sulfur,
    sulphate sulphur, schwefel, soufre, azufre, zolfo, zwavel, siarka, siarka siarczanowa, enxofre, svavel,
    sulfatsvavel, sulfat-schwefel, sulfaat-zwavel, azufre de sulfatos, enxofre de sulfatos, zolfo da solfati, soufre des sulfates, svovl`),
  SO4: wordsOf('so4'),
  SO3: wordsOf('so3'),
  Na: wordsOf('na, sodium, natrium, sodio, sod'),
  Cl: wordsOf(`
    cl, chloride, chlorides, chlorid, chlorure, chlorures, cloruro, cloruros, cloruri, chlorki, klorid, klorider,
    cloreto, cloretos, chloriden`),
  Fe: wordsOf('fe, iron, eisen, fer, hierro, ferro, ijzer, zelazo, jarn, jern'),
  Mn: wordsOf('mn, manganese, mangan, manganeso, mangaan, manganes'),
  Zn: wordsOf('zn, zinc, zink, zinco, cinc, cynk'),
  B: wordsOf('b, boron, bor, bore, boro, boor, borium'),
  Cu: wordsOf('cu, copper, kupfer, cuivre, cobre, rame, koper, miedz, koppar, kobber'),
  Mo: wordsOf(`
    mo, molybdenum, molybdan, molybdaen, molybdene, molibdeno, molybdeen, molibden, molybden, molibdenio`),
  nitrate: wordsOf('nitrate, nitrates, nitrat, nitrato, nitratos, nitrati, nitraat, azotany, nitrater, nitraten'),
  ammonium: wordsOf(`
    ammonium, ammonia, ammonia + ammonium, ammonia and ammonium, ammonium + ammonia, amonio, ammonio, amon, jon amonowy, amonia, ammoniak, ammoniaca, amoniaco, ammoniaque`),
  phosphate: wordsOf(`
    phosphate, phosphates, orthophosphate, ortho-phosphate, phosphat, fosfato, fosfatos, fosfaat,
    orthophosphates, ortho phosphate, reactive phosphate, orthophosphat, ortho-phosphat, ortofosfat, ortofosfati,
    ortofosfaty, ortofosfato, ortofosfatos, fosfati, fosfat, fosfater, fosforany, orthofosfaat, ortho-fosfaat,
    fosfaten`),
  sulfate: wordsOf(`
    sulfate, sulphate, sulfates, sulphates, sulfat, sulfato, sulfatos, solfato, solfati, sulfaat, siarczany,
    sulfater, sulfaten`),
  /** bicarbonate alkalinity: in North America mostly as CaCO3, elsewhere as HCO3 */
  alkalinity: wordsOf(`
    alkalinity, m-alkalinity, alk, alkalinity to ph 4.5, alkalinitat, alcalinite, alcalinidad, alcalinita,
    alkaliteit, bicarbonate alkalinity, alkalinity bicarbonate, karbonatharte, carbonate hardness, tac,
    titre alcalimetrique complet, alkalinitet, alkalitet, zasadowosc, zasadowosc ogolna, alcalinidade`),
  /** acid taken up to pH 4.3; that to pH 8.2 is another figure */
  acidCapacity: wordsOf(`
    saurekapazitat ph 4 3, saurekapazitat bis ph 4 3, saurekapazitat bis zum ph-wert 4 3, saurekapazitat ks4 3,
    saurekapazitat bis ph 4.3, saurekapazitat ph 4.3, acid capacity to ph 4.3, ks4.3, ks 4.3, ks 4 3, ks4 3,
    saurekapazitat ks 4 3, saurekapazitat ks 4.3, m-wert, m wert, saurebindungsvermogen`),
  HCO3: wordsOf(`
    hco3, bicarbonate, bicarbonates, hydrogen carbonate, hydrogencarbonate, hydrogencarbonat, bicarbonat,
    bicarbonato, bicarbonatos, bicarbonaat, wodoroweglany, bikarbonat, vatekarbonat, hydrogenkarbonat,
    hydrogenocarbonates, hidrogenocarbonato, hidrogenocarbonatos, idrogenocarbonati, idrogenocarbonato,
    bicarbonati, waterstofcarbonaat`),
  /** counts with bicarbonate, and only so */
  carbonate: wordsOf(`
    co3, carbonate, carbonates, carbonat, carbonato, carbonatos, carbonaat, carbonati, weglany, karbonat,
    karbonater, carbonaten`),
  conductivity: wordsOf(`
    ec, e.c., ec25, ec 25, conductivity, electrical conductivity, electric conductivity, specific conductance,
    conductance, cond, cond., leitfahigkeit, leitfaehigkeit, elektrische leitfahigkeit, elektr. leitfahigkeit,
    el. leitfahigkeit, ec-wert, ec waarde, ec-waarde, elektrische geleidbaarheid, electrical conductance,
    conductivite, conductivite electrique, conductividad, conductividad electrica, conducibilita, ce,
    geleidbaarheid, c.e., c. e., przewodnosc, przewodnosc elektryczna, przewodnosc elektryczna wlasciwa,
    przewodnosc wlasciwa, konduktywnosc, konduktivitet, elektrisk konduktivitet, ledningsformaga, condutividade,
    condutividade eletrica, condutividade electrica, conducibilita elettrica, conducibilita elettrica specifica,
    conduttivita, conduttivita elettrica, conductividad elec., cond. elec., geleidingsvermogen,
    elektrisch geleidingsvermogen, elektr. geleidbaarheid, ledningsevne, elektrisk ledningsevne, ledningstal, elektrisk ledningsformaga, konduktans`),
  /** where the form says nothing more */
  nitrogen: wordsOf('n, nitrogen, stickstoff, azote, nitrogeno, azoto, stikstof, azot, kvave, nitrogenio, kvaelstof'),
  /** the same as conductivity where the unit is one of conductivity, a sum of solids where it is not */
  salts: wordsOf('soluble salts, ss'),
  ph: wordsOf(`
    ph, ph value, ph-wert, ph wert, ph-waarde, valor ph, hydrogen ion, zuurgraad, odczyn, odczyn ph, ph-varde,
    valore di ph, valeur ph, waarde ph, reaction ph, reaktion ph, potencial de hidrogeno, potentiel hydrogene, potenziale di idrogeno, ph-vaerdi`),
}
