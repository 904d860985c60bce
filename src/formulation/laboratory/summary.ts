/** Figures that many samples come to, as their mean or their highest: no bottle was filled with them. */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { headingText } from './column.ts'
import { readValue } from './number-text.ts'
import type { NotedValue } from './report.ts'
import type { Row } from './row.ts'
import { readUnit } from './unit.ts'
import { wordsOf } from './word-list.ts'

/** What lies in the middle of many. */
const MIDDLES = wordsOf(`
  mean, means, average, averages, avg, avg., median, medians, mittelwert, mittelwerte, mittel, mittlere, mittlerer,
  durchschnitt, durchschnittswert, durchschnittlich, jahresmittel, jahresmittelwert, jahresmittelwerte, gemiddelde,
  gemiddeld, gem., mediaan, jaargemiddelde, moyenne, moyennes, moyen, mediane, moy, moy., media, medias, promedio,
  promedios, prom., mediana, medie, srednia, srednie, srednio, sr., medel, medelvarde, medelvarden, arsmedel,
  arsmedelvarde, percentile, percentiles, percentil, perzentil, quantil, quantile, quartile, percentiel, centile,
  percentyl, kwantyl`)
/** The ends of a range, of many samples or of what is allowed for one. */
const ENDS = wordsOf(`
  minimum, min, min., maximum, max, max., minimums, maximums, lowest, highest, kleinster, kleinste, grosster, grosste,
  niedrigster, niedrigste, hochster, hochste, tiefster, tiefste, laagste, hoogste, minimale, maximale, minimal, maximal,
  mini, maxi, minimo, minima, maximo, maxima, massimo, massima, maks, maks., maksimum, najmniejsza, najwieksza,
  najnizsza, najwyzsza, lagsta, hogsta, minsta, storsta`)
const SPREADS = wordsOf(`
  sd, std, stdev, std. dev., standardabweichung, standaardafwijking, ecart-type, deviazione, desviacion,
  odchylenie, standardavvikelse`)
const FILLERS = wordsOf(`
  value, values, result, results, concentration, of, the, all, samples, annual, yearly, monthly, arithmetic, geometric,
  year, wert, werte, jahres, jahr, messwert, konzentration, waarde, waarden, jaar, concentratie, valeur, valeurs,
  annuelle, annuel, annee, valor, valores, anual, ano, annuale, annua, anno, valore, valori, wartosc, roczna, rok,
  varde, varden, ar, dev, dev., th, p`)
const COUNTS = wordsOf(`
  n, count, no. of samples, number of samples, samples, no. samples, nr of samples, anzahl, anzahl proben, anzahl der proben,
  probenanzahl, probenzahl, aantal, aantal monsters, nombre, nombre d'echantillons, nombre de prelevements,
  nb d'echantillons, numero de muestras, n.o de muestras, n° de muestras, n muestras, numero campioni,
  numero di campioni, n. campioni, n° campioni, numero de amostras, n.o de amostras, n° de amostras, liczba probek,
  liczba, antal, antal prov, antal prover, number of analyses, no. of analyses, number of results`)
/** ‘2025’, ‘95th’, ‘P95’, ‘10 %’. */
const NUMBERED = /^p?\d+(?:th|\.|e|o|a|º|%|p)?$|^%$/

function wordsIn(label: string): readonly string[] {
  return headingText(label)
    .replaceAll(/[([]([^)\]]*)[)\]]/g, (_whole, inside: string) =>
      readUnit(inside) === undefined ? ` ${inside} ` : ' ',
    )
    .split(/[\s,:/-]+/)
    .filter((word) => word !== '')
}

function says(label: string, sought: readonly string[]): boolean {
  const words = wordsIn(label)
  const isKnown = (word: string) => [MIDDLES, ENDS, SPREADS, FILLERS].some((list) => list.includes(word))
  return words.some((word) => sought.includes(word)) && words.every((word) => isKnown(word) || NUMBERED.test(word))
}

/** ‘P95’, ‘95 %’: a percentile by its number alone. */
function isMiddle(label: string): boolean {
  return says(label, MIDDLES) || /^p ?\d\d$|^\d\d? ?%(?:-?il)?$/.test(headingText(label))
}

function isStatistic(label: string): boolean {
  return isMiddle(label) || says(label, [...ENDS, ...SPREADS])
}

export interface Bottles {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
  readonly passedOver: readonly NotedValue[]
}

/**
 * The statements about bottles. Beside bottles their mean is passed over; a minimum and a maximum beside a single one are
 * what it is compared with. Where no bottle is left, or one beside a mean, it is asked about.
 */
export function withoutSummaries(entries: readonly Entry[]): Bottles {
  const labels = new Set(entries.map(labelOf))
  const statistics = [...labels].filter(isStatistic)
  if (statistics.length === 0) return { entries, troubles: [], passedOver: [] }
  const isLeft = (label: string) => !isStatistic(label) && !COUNTS.includes(headingText(label))
  const left = [...labels].filter(isLeft)
  const isPlain = left.length > 1 || (left.length === 1 && !statistics.some(isMiddle))
  const firsts = statistics.map((label) => entries.find((entry) => labelOf(entry) === label)!)
  return {
    entries: entries.filter((entry) => isLeft(labelOf(entry))),
    troubles: isPlain ? [] : [ofMany(firsts[0]!.sample!)],
    passedOver: firsts.map(({ sample, value }) => {
      return { analyte: sample!.text, asWritten: value.text, why: 'worked out from several, no bottle' }
    }),
  }
}

function labelOf({ sample }: Entry): string {
  return sample?.text.trim() ?? ''
}

/** A column that counts the samples behind each figure, where more than one stands behind it. */
export function countsOfSamples(heading: Row, rows: readonly Row[]): Trouble[] {
  return heading.flatMap((cell, at) => {
    const isMany = ({ text }: Cell) => {
      const read = readValue(text, undefined)
      return read.kind === 'number' && read.value > 1
    }
    const isCount = COUNTS.includes(headingText(cell.text)) && headingText(cell.text) !== 'n'
    return isCount && rows.some((row) => row[at] !== undefined && isMany(row[at])) ? [ofMany(cell)] : []
  })
}

/** ‘Mean of 24 samples’, ‘Jahresmittelwerte’: said in a line of its own. */
const SENTENCE =
  /(?<!\p{L})(?:(?:mean|average|median|minimum|maximum|summary)s?(?: values?| results?)? (?:of|for|over|from) (?:the )?(?:\d+|all|many|several) (?:samples|analyses|bottles)|(?:annual|yearly|monthly|quarterly|weekly) (?:mean|average|median|summary|statistic)s?|(?:jahres|monats)(?:mittel|durchschnitt)\p{L}*|mittelwerte? (?:aus|von) \d+ (?:proben|analysen)|(?:jaar|maand)gemiddelden?|gemiddelden? van \d+ (?:monsters|analyses)|moyennes? (?:annuelles?|mensuelles?|de \d+ (?:échantillons|analyses|prélèvements))|(?:medias?|promedios?) (?:anual(?:es)?|mensual(?:es)?|de \d+ (?:muestras|análisis))|médias? (?:anua(?:l|is)|mensa(?:l|is)|de \d+ (?:amostras|análises))|medi[ae] (?:annual[ei]|mensil[ei]|di \d+ (?:campioni|analisi))|średni[ea] (?:roczn[ae]|miesięczn[ae]|z \d+ (?:próbek|analiz))|(?:års|månads)medel\p{L}*|medelvärden? (?:av|för) \d+ (?:prov|prover|analyser))(?!\p{L})/iu

/** A sentence by which the figures of the report are those of many samples. */
export function saysOfMany(text: string): Trouble[] {
  return text.split('\n').flatMap((content, at) => {
    const match = SENTENCE.exec(content)
    return match === null ? [] : [ofMany({ text: match[0], line: at + 1, column: match.index + 1 })]
  })
}

function ofMany(cell: Cell): Trouble {
  const found = `${quoted(cell.text)}, a summary of many samples, not one bottle`
  return troubleAt(cell, found, 'the figures of one bottle', 'Ask for one analysis, or keep the column that is meant.')
}
