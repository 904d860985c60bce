/** Substances and sums that reports state and that nobody here doses by. */

import { wordsOf } from './word-list.ts'

/** What lives in water, by any word of its name; and any ratio that is called so. */
const BY_WORD: readonly (readonly [RegExp, string])[] = [
  [/(?:^| )(?:coliform|bakteri|bacteri|batteri|enteroc|salmonel|pythium|fusarium|phytophthora)\w*/, 'not tracked here'],
  [
    /(?:^| )(?:plate count|viable count|colony forming units?|yeasts?|moulds?|molds?|fungi|algae)(?: |$)/,
    'not tracked here',
  ],
  [
    /^(?!.*[ck]arbonat).*(?:^| )(?:hardness|harte|hardheid|durete|dureza|durezza|twardosc|hardhet|hardhed)(?: |$)/,
    'follows from other values',
  ],
  [
    /(?:^| )(?:trihalomethan|triazin|phenoxy|organophosph|organochlor|pesticid|herbicid|fungicid|insecticid|glyphosat)\w*/,
    'not tracked here',
  ],
  // ‘Temperature compensated EC’ is no temperature
  [
    /^temp(?:erature|eratur|eratuur|eratura)(?: (?:at|of|on|in|ved|bei|bij|vid|de|del|della|przy) .*)?$/,
    'not tracked here',
  ],
  [/(?:^| )(?:dissolved (?:salts|solids)|tds)(?: |$)/, 'follows from other values'],
  [/(?:^| )(?:ratio|verhaltnis|verhouding|relacion|rapporto|relacao|stosunek)(?: |$)/, 'follows from other values'],
]

/** Why a name, in lower case and without accents, is left aside; undefined where it is not. */
export function whyUntracked(name: string): string | undefined {
  if (Object.hasOwn(UNTRACKED, name)) return UNTRACKED[name]
  return BY_WORD.find(([words]) => words.test(name))?.[1]
}

/** Known and left aside. Everything that is neither here nor among the analytes is refused, so that nothing is lost by a typo. */
const UNTRACKED: Readonly<Record<string, string>> = {
  ...sameReason(
    'not tracked here',
    `al, aluminium, aluminum, aluminio, ni, nickel, si, silicon, sio2, silica, silicate, silizium, silicium,
    silicio, f, fluoride, fluorid, fluorure, fluorures, fluoruro, fluoruros, co, cobalt, se, selenium, pb, lead,
    cd, cadmium, cr, chromium, as, arsenic, hg, mercury, ba, barium, sr, strontium, li, lithium, v, vanadium, ti,
    titanium, br, bromide, i, iodide, iodine, no2, no2-n, nitrite, nitrites, nitrit, nitrito, nitritos, nitriet,
    nitrite-n, toc, doc, turbidity, trubung, turbidite, turbidez, colour, color, orp, redox, dissolved oxygen,
    temperature, chlorine, free chlorine, chlorine free, residual chlorine, residual chlorine - free, chloramine,
    monochloramine, farbung, sak 436 nm, farbe, geruch, odour, odor, taste, cod, bod, temperatur,
    temperature of water, water temperature, wassertemperatur, watertemperatuur, temperatuur, temperatura,
    temperatura del agua, temperatura dell'acqua, temperatura wody, vattentemperatur, temperature de l'eau,
    temperature on receipt, sample temperature, turbiditet, torbidita, metnosc, troebelheid, troebeling,
    grumlighet, couleur, colore, cor, barwa, kleur, farg, fargtal, olor, odeur, odore, zapach, geur, lukt, sabor,
    smak, gout, geschmack, silice, silica reactive, reactive silica, kieselsaure, kiezelzuur, krzem, krzemionka,
    kisel, silicato, silicatos, silicati, silikat, fluor, fluorki, fluoreto, fluoreti, fluoruri, fluoriden,
    oxygen, oxygen dissolved, sauerstoff, zuurstof, oxygene, oxygene dissous, oxigeno disuelto, oxigeno,
    ossigeno disciolto, ossigeno, oxigenio dissolvido, tlen, tlen rozpuszczony, syre, syrehalt,
    oxygen saturation, sauerstoffsattigung, redox potential, redoxpotential, redoxspannung, potentiel redox,
    potencial redox, potenziale redox, potencjal redox, redoxpotentiaal, eh, coliforms, total coliforms,
    faecal coliforms, fecal coliforms, coliforme, coliforme bakterien, coliformes, thermotolerant coliforms, coliformes fecais, coliformes fecales, coliformes totales, coliformi,
    e. coli, e.coli, escherichia coli, enterococci, enterokokken, colony count, koloniezahl, bakterie grupy coli,
    koliforma bakterier, pseudomonas, legionella, chlor, chlor frei, freies chlor, total chlorine,
    chlorine total, combined chlorine, cloro, cloro libre, cloro residual, cloro libero, cloro residuo, chlore,
    chlore libre, chlore total, chloor, chlor wolny, nickel total, nichel, niquel, nikkel, nikiel, blei, lood,
    plomo, plomb, piombo, chumbo, olow, bly, arsen, arseen, arsenico, kadmium, kadm, cadmio, chrom, chroom,
    cromo, krom, quecksilber, kwik, mercurio, mercure, rtec, kvicksilver, cobalto, kobalt, selen, selenio,
    seleen, antimony, antimon, sb, beryllium, be, silver, ag, tin, sn, thallium, tl, uranium, uran, u,
    barium total, bario, bar, strontium total, estroncio, stront, litio, lithium total, lit, vanadio, wanad,
    tytan, bromid, bromure, bromuro, bromek, bromki, jodid, jod, aluminium total, alluminio, glin,
    nitritstickstoff, nitrit-stickstoff, nitrite nitrogen, nitrit-n, nitriet-n, nitritkvave, azotyny,
    azot azotynowy, nitriti, nitriter, azote nitreux, nitrogeno nitroso, n-no2, suspended solids,
    total suspended solids, tss, matieres en suspension, mes, solidos en suspension, solidi sospesi, zawiesina,
    zawiesina ogolna, abfiltrierbare stoffe, zwevende stof, suspenderade amnen, organic carbon,
    total organic carbon, dissolved organic carbon, carbone organique total, cot, carbono organico total,
    ogolny wegiel organiczny, owo, carbonio organico totale, cyanide, sulfide, sulphide, hydrogen sulfide,
    hydrogen sulphide, h2s, phenols, csb, bsb5, bzv, czv, dqo, dbo, dco, dbo5, chzt, bzt5, uv absorbance, uv254,
    permanganate index, kmno4, cod-mn, oxidierbarkeit, silt density index, sdi, ilt, iltindhold, farvetal`,
  ),
  ...sameReason(
    'nitrogen in all is not split into its forms',
    `total n, total nitrogen, nitrogen total, n total, tn, tkn, kjeldahl nitrogen, inorganic nitrogen,
    inorganic n, total inorganic nitrogen, total inorganic n, urea, urea-n, organic nitrogen, gesamtstickstoff,
    stickstoff gesamt, gesamt-n, azote total, azote global, azote kjeldahl, nitrogeno total, azoto totale,
    nitrogenio total, azot ogolny, totalkvave, stikstof totaal, totaal stikstof, totaal-n, n-totaal, n-total,
    total-n, kjeldahl-n, urea nitrogen, harnstoff, ureum, uree, mocznik, total dissolved nitrogen,
    total kjeldahl nitrogen`,
  ),
  ...sameReason(
    'follows from other values',
    `hardness, gesamtharte, harte, durete, dureza, total hardness, caco3 hardness, calcium hardness,
    magnesium hardness, sar, adjusted sar, sodium adsorption ratio, titre hydrotimetrique, th, totale hardheid,
    hardheid, tds, dissolved solids, total dissolved solids, total dissolved salts, dissolved salts, residu sec,
    residuo seco, cation sum, anion sum, cations, anions, sum of cations, sum of anions, ion balance,
    ion balance error, suma aniones, suma cationes, suma de aniones, suma de cationes, somme des anions,
    somme des cations, summe kationen, summe anionen, total cations, total anions, percent difference,
    charge balance, osmotic pressure, n/k, k/ca, ca/mg, carbon dioxide, co2, total hardhet, hardhet,
    totalhardhet, gesamtharte als caco3, harte gesamt, durezza, durezza totale, dureza total, durete totale,
    twardosc, twardosc ogolna, hardness as caco3, hardness total, permanent hardness, temporary hardness,
    residual hardness, nichtkarbonatharte, kalkhardheid, tds calc, dissolved salts total, abdampfruckstand,
    trockenruckstand, residuo fisso, residuo secco, residuo fijo, residu a sec, sucha pozostalosc, indamprest,
    droogrest, salinity, salinidad, salinita, salinidade, salzgehalt, zoutgehalte, solidos disueltos totales,
    solidos totais dissolvidos, solidi disciolti totali, zasolenie, salthalt, somma cationi, somma anioni,
    somma dei cationi, somma degli anioni, suma kationow, suma anionow, som kationen, som anionen,
    som van kationen, som van anionen, soma de catioes, soma de anioes, soma de cations, soma de anions,
    sum cations, sum anions, summa katjoner, summa anjoner, kationensumme, anionensumme, kationen, anionen,
    cationi, anioni, kationy, aniony, cationes, aniones, ionenbilanz, bilan ionique, balance ionique,
    balance ionico, bilancio ionico, bilans jonowy, ionenbalans, jonbalans, balanco ionico, ionic balance,
    ion sum, ionic strength, ras, indice sar, residual sodium carbonate, carbonato sodico residual, rsc, csr, langelier index, langelier,
    saturation index, sattigungsindex, indice de langelier, corrosivity, carbonic acid, kohlensaure,
    freie kohlensaure, dioxyde de carbone, k/mg, na/k, n/p, k:ca, n:k, ca:mg`,
  ),
}

function sameReason(why: string, names: string): Record<string, string> {
  return Object.fromEntries(wordsOf(names).map((name) => [name, why]))
}
