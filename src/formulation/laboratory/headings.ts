/** The headings of columns, in the languages met most often: lower case, without accents. */

import { wordsOf } from './word-list.ts'

export type ColumnRole =
  | 'analyte'
  | 'form'
  | 'value'
  | 'unit'
  | 'sample'
  | 'sampled'
  | 'limit'
  | 'qualifier'
  /** beside the name, and no more than it where a sentence tells another form */
  | 'symbol'
  /** whose bottle it is: one of the client's, or a check of the laboratory's own */
  | 'kind'
  | 'aside'

/** What each heading is for. */
export const HEADINGS: Readonly<Record<ColumnRole, readonly string[]>> = {
  analyte: wordsOf(`
    analyte, parameter, element, determinand, test, determination, nutrient, component, substance, analysis, ion,
    analyt, parametre, parametro, bestimmung, determinacion, bepaling, analyse, constituent, compound,
    messgrosse, messgroesse, prufparameter, parametres, parametros, onderdeel, parameters, determinands,
    determinants, determinant, messparameter, kenngrosse, bepalingen, parametr, oznaczenie, wskaznik, skladnik, analys,
    analyser, amne, ensaio, determinacao, elemento, elementos, prova, determinazione, analito, ions, ionen,
    determinaciones, parameternaam, analyte name, parameter name, chemical name, chemical, test name, variable,
    merkmal, untersuchung, essai, analiza, dosage`),
  form: wordsOf(`
    form, expressed as, reported as, basis, chemical form, angabe als, exprime en, expresado como, exprime comme,
    ausgedruckt als, uitgedrukt als, expresso como, espresso come, wyrazony jako, uttryckt som, forma, forme, vorm,
    expression, expressao, expresion, espressione, expresso em, expresso por, expressed in, given as, angegeben als,
    opgegeven als, expresado en, expresada como, wyrazone jako, uttryckt i, angiven som`),
  value: wordsOf(`
    value, result, results, reading, concentration, measured, measured value, amount, wert, messwert, ergebnis,
    resultat, resultado, risultato, valeur, valor, gevonden, resultaat, gemeten, gemessen, mesure, medido,
    final result, reported result, current, current result, current value, this sample, uitslag, uitkomst,
    waarde, meetwaarde, wynik, wynik badania, wartosc, resultados, resultats, resultater, ergebnisse, risultati,
    resultaten, wyniki, varde, matvarde, uppmatt, measured concentration, konzentration, concentratie,
    concentracion, concentrazione, concentracao, stezenie, halt, final value, result value, analysewert, valore,
    valores, gemessener wert, teneur, gehalt, gehalte, messergebnis, numeric result, found, findings, verdi, maleresultat,
    trouve, trovato, hallado, encontrado, gefunden`),
  unit: wordsOf(`
    unit, units, uom, einheit, unite, unites, unidad, unidades, unita, eenheid, result unit, result units,
    jednostka, jednostki, jedn., jedn, enhet, enheter, unidade, unita di misura, u.m., masseinheit, einheiten,
    eenheden, ud., uds., result uom, unit of measure, measurement unit, dimension, enhed, enheder, unita misura`),
  sample: wordsOf(`
    sample, sample id, sample name, sample label, sample description, sample no, sample no., sample number,
    label, client id, client sample id, client sample, client label, field id, sample point, probenname,
    entnahmestelle, reference echantillon, nom echantillon, monsteromschrijving, monsternaam, omschrijving,
    bottle, description, location, sampling point, probe, probenbezeichnung, echantillon, muestra, campione,
    monster, client ref, client reference, client sample ref, customer reference, customer sample id,
    your reference, your ref, site, site name, sampling site, sampling location, sample location,
    sample reference, sample ref, sample ref., source name, sample site, sampling place,
    probenahmestelle, probename, proben-id, messstelle, point de prelevement, lieu de prelevement,
    nom de l'echantillon, identification de l'echantillon, punto de muestreo, identificacion de la muestra,
    referencia de muestra, nombre de la muestra, punto di prelievo, denominazione campione, descrizione campione,
    amostra, identificacao da amostra, ponto de amostragem, probka, nazwa probki, oznaczenie probki, opis probki,
    miejsce poboru, punkt poboru, prov, provets markning, markning, provmarkning, provpunkt, provtagningsplats,
    provtagningspunkt, monsterpunt, monsterplaats, monstercode klant,
    bezeichnung, muestra referencia, referencia de la muestra, designation,
    station, station name, station id, sampling station, monitoring station, monitoring point, monitoring location,
    monitoring site, location name, location id, site id, well, well name, well id, borehole, bore, su referencia,
    referencia del cliente, provested, proveudtagningssted, provenavn, provemaerke, provemaerkning, udtagningssted,
    messpunkt, entnahmepunkt, station de mesure, point d'eau, punto de toma, punto di campionamento, meetpunt,
    bemonsteringspunt`),
  sampled: wordsOf(`
    sampled, sampled at, sampled on, date sampled, sample date, sampling date, collected, date collected,
    collection date, collected on, sampling time, taken, date taken, collect date, sampling date and time,
    bemonsterd, bemonsterd op, probenahme, probenahme am, probenahmedatum, prelevement, date de prelevement,
    preleve le, fecha de muestreo, muestreo, data di prelievo, monsterdatum, datum monstername, coll date,
    collection date and time, sampling date/time, sample date/time, sample taken, date of sampling, sampled date,
    entnahme, entnahme am, entnahmedatum, datum der probenahme, probenahmezeitpunkt, date prelevement,
    date du prelevement, prelevee le, date d'echantillonnage, fecha de toma, fecha de toma de muestra,
    fecha toma de muestra, fecha toma, fecha muestreo, fecha de recogida, tomada el, data prelievo, data del prelievo,
    data campionamento, data di campionamento, prelevato il, campionato il, data da coleta, data de coleta,
    data de colheita, data da colheita, colhida em, coletada em, data da amostragem, data pobrania,
    data pobrania probki, data pobrania probek, pobrano, data poboru, provtagningsdatum, provtagning, provtaget,
    provdatum, datum bemonstering, bemonsteringsdatum, monsternamedatum, date bottled, taken on, taken at, drawn,
    drawn on, date drawn, collected at, date/time collected, date/time sampled, date and time sampled,
    date and time collected, toma de muestra, toma de muestras, udtaget, udtaget den, provetagning, provetagningsdato,
    provedato, udtagningsdato, dato for provetagning, entnommen, entnommen am, date de collecte, collecte le`),
  limit: wordsOf(`
    lod, loq, mdl, rl, pql, dl, detection limit, reporting limit, limit of detection, limit of quantification,
    limit of quantitation, quantification limit, bestimmungsgrenze, nachweisgrenze, limite de quantification,
    limite de detection, limite de deteccion, detectiegrens, rapportagegrens, limite de cuantificacion,
    best.-grenze, bestimmungsgr., bg, nwg, nachweisgr., lq, ld, lq., loq/lod, limite de quantif.,
    limite di quantificazione, limite di rilevabilita, limite de quantificacao, limite de deteccao,
    granica oznaczalnosci, granica wykrywalnosci, rapporteringsgrans, detektionsgrans, kvantifieringsgrans,
    rapportagelimiet, bepalingsgrens, aantoonbaarheidsgrens, lor, limit of reporting, mrl,
    method detection limit, method reporting limit, practical quantitation limit, minimum reporting limit, lld,
    rdl, reported detection limit, detektionsgraense, kvantifikationsgraense, bestemmelsesgraense,
    rapporteringsgraense`),
  qualifier: wordsOf(`
    qualifier, qualifiers, qual, flag, flags, sign, operator, modifier, prefix, lab qualifier, q, data qualifier,
    result qualifier, remark code, znak, vorzeichen`),
  symbol: wordsOf(`
    symbol, formula, symbole, symbool, simbolo, symbol chemiczny, chemical symbol, chemical formula, kurzel,
    kurzzeichen, abkurzung, abk., elementsymbol, chem. symbol, formel, chem. formel, chemische formel, formule,
    formule chimique, symbole chimique, simbolo quimico, simbolo chimico, formula quimica, formula chimica,
    abbreviation, abbr., abbr, afkorting, abreviatura, abreviacion, sigla, abbreviazione, skrot, wzor,
    wzor chemiczny, beteckning, kemisk beteckning, kemisk formel, forkortning`),
  kind: wordsOf(`
    sample type, qc type, sample class, sample category, qc, probenart, type, soort, monstertype, provetype,
    tipo de muestra, tipo campione, type d'echantillon`),
  aside: wordsOf(`
    lab id, lab no, lab no., lab number, laboratory id, laboratory, lab, report, report no, report no.,
    report number, order, order no, method, test method, comment, comments, remark, remarks, note, notes,
    uncertainty, uncertainty (k=2), messunsicherheit, incertitude, incertidumbre, meetonzekerheid, analyst, cas,
    cas no, category, group, matrix, received, date received, reported, date reported, report date,
    date analysed, date analyzed, analysed, analyzed, target, optimum, guide, guideline, low, high, range,
    rating, client, customer, grower, crop, sampled by, accreditation, received at, received on, reported at,
    reported on, methode, metodo, labor, laboratoire, laboratorio, bemerkung, bemerkungen, remarque,
    observaciones, opmerking, lab ref, lab ref., lab sample id, labornummer, laborprobennummer, monsternummer,
    test code, code, verfahren, prufverfahren, norm, methodik, accredited, akkreditiert, collect time,
    time sampled, time collected, collection time, received date, analysis date, prep date, dilution,
    dilution factor, analysis time, cas number, no. of samples, number of samples, source, major source, medium,
    very low, very high, deficient, sufficient, excess, interpretation, class, status, batch, batch no,
    batch number, prep batch, analytical batch, analysis batch, qc batch, sequence, instrument, preparation,
    prep method, extraction date, date prepared, dil, dil., dil factor, df, verdunning, verdunnung,
    verdunnungsfaktor, container, preservation, preservative, bottle type, fraction, fractions, filtration,
    fraktion, recv date, rec date, coll time, received date/time, date de reception, recu le, recu, eingang, eingangsdatum,
    probeneingang, probeneingang am, prufzeitraum, prufbeginn, prufende, prufdatum, berichtsdatum, datum bericht,
    ontvangen, ontvangen op, ontvangstdatum, rapportdatum, analysedatum, datum analyse, fecha de recepcion,
    fecha recepcion, fecha de entrada, fecha de analisis, fecha de informe, data ricevimento,
    data di ricevimento, data analisi, data emissione, data de recebimento, data de entrada, data do relatorio,
    data przyjecia, data badania, data zakonczenia badan, data rozpoczecia badan, ankomst,
    ankomst till laboratoriet, ankomstdatum, analysdatum, date received at lab, order number, job, job no,
    job number, work order, project, project no, project name, certificate, certificate no, certificate number,
    auftrag, auftrag nr., auftragsnummer, bericht, berichtsnummer, prufbericht nr., prufbericht, rapport,
    informe, informe no, rapporto di prova, sprawozdanie, report_no, dossier, commande, account, account no,
    invoice, sample no. lab, lab code, lab reference, laboratory number, laboratory reference, analyserapport,
    uppdragsgivare, auftraggeber, einsender, opdrachtgever, client name, cliente, committente, zleceniodawca,
    grower name, farm, farm name, cultivo, culture, kultur, gewas, teelt, uprawa, coltura, cultura, variety,
    collected by, sampler, probenehmer, monsternemer, preleveur, prelevatore, muestreador, technique, tecnica,
    metoda, metodo de ensayo, metodo analitico, methode d'analyse, method code, method ref, method reference,
    analysemethode, metod, metodbeteckning, metodyka, norma, procedure, determinacion metodo,
    testmethode, diagnostico, diagnose, diagnosis, diagnostic, beoordeling, bewertung, beurteilung, wertung,
    ocena, bedomning, valutazione, giudizio, avaliacao, appreciation, assessment, evaluation, verdict, pass/fail,
    compliance, conforme, conformite, konform, incert., incert, incertezza, incerteza, niepewnosc, matosakerhet,
    onzekerheid, unsicherheit, mu, u (k=2), +/-, ±, measurement uncertainty, expanded uncertainty,
    uncertainty (+/-), standard deviation, std dev, rsd, cv, recovery, accredited (y/n), acc., akkr.,
    accreditatie, accreditamento, acreditacion, acreditado, akredytacja, ackrediterad, cofrac, status code,
    toelichting, opmerkingen, anmerkung, anmerkungen, hinweis, remarques, observation, observations, commentaire,
    commentaires, observacion, nota, notas, note(s), osservazioni, uwagi, anmarkning, kommentar, kommentarer,
    observacoes, remarks/notes, legend, page, pages, seite, blad, lab name, laboratory name, labo, laboratorium,
    contact, address, phone, email, version, issued, issued on, printed, print date, temperature on receipt,
    temperature at receipt, container id, medium type, water type, type of water, matrice,
    matriz, matryca, matris, soort monster, cas nummer, cas-nummer, cas nr, numero cas, nr cas,
    charge balance error, sampling method, field notes, weather, priority, line, line no, row, nr, nr., no, no.,
    lp., lfd. nr., pos, pos., sort, sort order, key, parameter code, analyte code, paramcode, storet,
    lims id, limsid, barcode, uuid, guid, seq, monsternr, monsternr., monster nr., monster nr,
    proben-nr., proben-nr, probennummer, probennr., probe-nr., metodo interno, metodo di prova, metodo di analisi,
    methode interne, interne methode, hausmethode, fecha emision, numero, metode, analysemetode, modtaget,
    modtagelsesdato, rapportnr., rapportnr, rekvirent, bemaerkning, bemaerkninger, maleusikkerhed, usikkerhed, recepcion,
    completed, date completed, obs., obs, labnummer, labnr, labnr., station code, station number`),
}
