/** What people set beside a result to compare it with: limits, guide values, the result before. Never a result. */

import { wordsOf } from './word-list.ts'

/** Enough alone: nobody calls a bottle so. */
const SURE = new Set(
  wordsOf(`
    target, targets, vmp, vma, vle, mac, pcv, cible, objetivo, obiettivo, ziel, doel, cel, optimum, optimal,
    optimo, ottimale, otimo, guide, guideline, guidelines, desirable, desired, recommended, recommendation,
    acceptable, sufficiency, threshold, mcl, mclg, permissible, allowable, previous, limit, limits, grenzwert,
    grenzwerte, richtwert, richtwerte, sollwert, sollwerte, zielwert, zielwerte, normwert, normbereich,
    orientierungswert, optimalbereich, sollbereich, zielbereich, empfehlung, schwellenwert, vorwert, vorbefund,
    vorherige, streefwaarde, streefwaarden, richtwaarde, richtlijn, grenswaarde, norm, normwaarde, streeftraject,
    vorige, advies, recommande, recommandee, souhaitable, seuil, limite, limites, precedent, precedente,
    precedenti, consigne, recomendado, recomendada, recomendados, recomendable, umbral, anterior, anteriores, riferimento,
    deseable, optima, raccomandato, consigliato, soglia, limiti, referenza, recomendavel, desejavel, ideal,
    zalecany, zalecane, zalecana, norma, zakres, optymalny, optymalne, dopuszczalna, dopuszczalne, poprzedni,
    poprzednia, poprzednio, riktvarde, gransvarde, malvarde, onskvart, tidigare, foregaende, change, difference,
    deviation, abweichung, afwijking, ecart, diferencia, differenza, zmiana, skillnad, guia, guias, streefcijfer,
    streefcijfers, richtbereich, grenzbereich, normwerte, orientierungswerte, orientierungsbereich`),
)
/** Such a word needs one of the fillers beside it: a bottle may be called ‘last row’ or ‘normal feed’. */
const UNSURE = new Set(
  wordsOf(`
    normal, normale, reference, regulatory, legal, permitted, last, letzte, letzter, laatste, dernier, derniere,
    ultimo, ultima, ref., ref, highest, range, ranges`),
)
const FILLERS = new Set(
  wordsOf(`
    value, values, level, levels, range, ranges, result, results, report, analysis, analyses, analyse, limit,
    limits, maximum, minimum, max, min, max., min., low, high, lower, upper, from, to, allowed, standard,
    standards, water, drinking, irrigation, quality, use, for, of, the, date, von, bis, unten, oben, wert, werte,
    bereich, ergebnis, messwert, trinkwasser, waarde, waarden, traject, uitslag, resultaat, van, tot, onder,
    boven, hoog, laag, drinkwater, valeur, valeurs, plage, resultat, de, du, la, le, d'uso, qualite, valor,
    valores, intervalo, rango, resultado, intervallo, valore, valori, risultato, irriguo, uso, irrigazione,
    d'irrigation, riego, rega, faixa, wartosc, wynik, varde, omrade, %, percent, abs, absolute, analys, wyniki,
    badanie, di, del, della, delle, dei, des, der, den, het`),
)

/** Beside words that are not known, ‘Target drain’: no bottle for sure, and no guide value for sure either. */
const LIKELY = new Set(
  wordsOf(`
    target, targets, optimum, guideline, guidelines, threshold, grenzwert, grenzwerte, richtwert, richtwerte, sollwert,
    sollwerte, zielwert, zielwerte, normwert, normwerte, streefwaarde, streefwaarden, streefcijfer, streefcijfers,
    richtwaarde, grenswaarde, previous, vorige, vorwert, vorbefund, objetivo, obiettivo, anterior, precedent, precedente,
    riferimento, riktvarde, gransvarde, malvarde, dopuszczalna, zalecane`),
)

/** ‘Guide values’, ‘Target tomato’ alone in a row: the figures below it are none of a bottle, or may be none. */
export function headsGuides(row: string): boolean {
  const words = row.split(/\s+/)
  return words.length <= WORDS_MAX && !/[.!?]$|\d/.test(row) && (isComparedWith(row) || mayBeComparedWith(row))
}

/** More make a sentence. */
const WORDS_MAX = 5

/** Is one of the words of this heading what results are compared with, whatever the others say? */
export function mayBeComparedWith(name: string): boolean {
  return name.split(/[^\p{L}]+/u).some((word) => LIKELY.has(word))
}

/** Does this heading, or this name of a row, say what results are compared with? Every word of it must be one of these. */
export function isComparedWith(name: string): boolean {
  if (/^(?:%|percent )/.test(name)) return true
  const words = name
    .replaceAll(/[([][^)\]]*[)\]]/g, ' ')
    .replace(/ (?:(?:[mµu]g|[mµu]mol|meq) ?\/ ?l|pp[mb]|m[sS]\/cm)$/, ' ')
    .replaceAll(/[:,/-]/g, ' ')
    .split(/\s+/)
    .filter((word) => word !== '')
  const isSure = words.some((word) => SURE.has(word))
  const isToldApart =
    words.some((word) => UNSURE.has(word)) && words.some((word) => FILLERS.has(word) && !UNSURE.has(word))
  return (isSure || isToldApart) && words.every((word) => SURE.has(word) || UNSURE.has(word) || FILLERS.has(word))
}
