/** Alarms of probes, doses, stocks and samples: the crop does not die of these today. */

import type { AlarmDefinition, Finding } from './alarm-definition.ts'
import type { AlarmFacts } from './alarm-facts.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
/** What a doubt must fall to, of its limit, before the alarm is over. */
const DOUBT_DEADBAND = 0.8

/** Two scans of a minute each are missing: what a silence would explain waits from now on. */
const SILENCE_SEEN_MS = 2 * MINUTE_MS

export const CHEMISTRY_ALARMS: readonly AlarmDefinition[] = [
  {
    id: 'readings-silent',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: MINUTE_MS,
    explains: ['probe-silent', 'probe-stuck', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'No plausible reading comes from any probe',
    consequence: 'Nothing is known of the water, and nothing is dosed.',
    action: 'See whether the circulation runs, then look at the probes and their cables.',
    respondWithin: '3 hours',
    find: ({ scanSilentMs }, { probeSilentMs }) => (scanSilentMs > probeSilentMs ? [{}] : []),
  },
  {
    id: 'probe-silent',
    priority: 'high',
    onDelayMs: ({ probeSilentMs }) => Math.max(0, probeSilentMs - SILENCE_SEEN_MS),
    offDelayMs: MINUTE_MS,
    explains: ['conductivity-outside', 'ph-outside', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'A probe is silent or shows what no water can be',
    consequence: 'What it watches goes unwatched, and doses that need it wait.',
    action: 'Look at its cable and at the probe; where it is the flow or level probe, look at the water first.',
    respondWithin: 'today',
    find: ({ probes }) =>
      probes
        .filter(({ silentMs }) => silentMs > SILENCE_SEEN_MS)
        .map(({ probe, node, role }) => ({ subject: probe, node, detail: `${probe}, ${role}` })),
  },
  {
    id: 'probe-stuck',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: ['probe-doubtful', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'A probe shows the very same value for hours, which no living probe does',
    consequence: 'Its reading says nothing, and doses that need it wait.',
    action: 'Take it out, look whether the value moves, clean or replace it.',
    respondWithin: 'today',
    find: ({ probes }) =>
      probes
        .filter(({ isStuck }) => isStuck)
        .map(({ probe, node, role }) => ({ subject: probe, node, detail: `${probe}, ${role}` })),
  },
  {
    id: 'conductivity-outside',
    priority: 'high',
    onDelayMs: ({ rangeDelayMs }) => rangeDelayMs,
    offDelayMs: 5 * MINUTE_MS,
    explains: ['probe-doubtful', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'Conductivity has left the range in which doses are allowed',
    consequence: 'Nothing is dosed.',
    action: 'Check the probe in a standard, then the solution.',
    respondWithin: 'today',
    find: (facts) =>
      outside(facts, 'conductivity', {
        ...{ value: facts.conductivityDsPerM, unit: ' mS/cm' },
        ...{ min: facts.conductivityMinDsPerM, max: facts.conductivityMaxDsPerM },
      }),
  },
  {
    id: 'ph-outside',
    priority: 'high',
    onDelayMs: ({ rangeDelayMs }) => rangeDelayMs,
    offDelayMs: 5 * MINUTE_MS,
    explains: ['probe-doubtful', 'doses-refused', 'dosing-idle', 'element-unmeetable'],
    cause: 'The pH reading has left the range in which doses are allowed',
    consequence: 'Nothing is dosed.',
    action: 'Check the probe in a buffer, then the solution.',
    respondWithin: 'today',
    find: (facts) => outside(facts, 'ph', { value: facts.ph, unit: '', min: facts.phMin, max: facts.phMax }),
  },
  {
    id: 'probe-walked',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: ['probe-doubtful'],
    cause: 'A probe contradicted everything else for an hour, and the estimate gave way',
    consequence: 'Either the probe is wrong or the water is; until it is calibrated nobody knows which.',
    action: 'Check it in a standard, buffer or by hand, calibrate it, and write down what was added or let go.',
    respondWithin: 'today',
    find: ({ walked }) => walked.map(({ probe, text }) => ({ subject: probe, probe, detail: text })),
  },
  {
    id: 'probe-doubtful',
    priority: 'low',
    onDelayMs: ({ doubtDelayMs }) => doubtDelayMs,
    offDelayMs: HOUR_MS,
    explains: ['doses-refused'],
    cause: 'A probe reads otherwise than the balance of water, doses and crop says',
    consequence: 'The estimate leans less on it and grows less sure.',
    action: 'Clean and calibrate it, and compare with a handheld meter.',
    respondWithin: 'this week',
    find: ({ doubts }, _settings, isStanding) =>
      doubts
        .filter(({ role, ofLimit }) => ofLimit > (isStanding(role) ? DOUBT_DEADBAND : 1))
        .map(({ role, text }) => ({ subject: role, detail: text })),
  },
  {
    id: 'stock-low',
    priority: 'low',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: [],
    cause: 'A stock runs low by the book',
    consequence: 'Without it the elements it brings fall out of their bands.',
    action: 'Mix a new batch and log the refill.',
    respondWithin: '2 days',
    find: ({ stocks }, { stockLeftShare, stockLeftDays }) =>
      stocks
        .filter(({ leftShare, leftDays }) => leftShare < stockLeftShare || (leftDays ?? Infinity) < stockLeftDays)
        .map(({ stock, leftMl }) => ({ subject: stock, detail: `${stock}: some ${leftMl.toFixed(0)} mL left` })),
  },
  {
    id: 'ration-running',
    priority: 'low',
    onDelayMs: () => 0,
    offDelayMs: MINUTE_MS,
    explains: [],
    cause: 'The crop is fed by the make-up meter alone, as an approved ration',
    consequence: 'It gets a fixed share for each litre, no acid, and nobody sees whether it fits.',
    action: 'Mend what is lost, or take a sample; the ration ends by itself.',
    respondWithin: 'a day, and before the ration ends',
    find: ({ ration }) => (ration === undefined ? [] : [{ detail: ration }]),
  },
  {
    id: 'doses-refused',
    priority: 'low',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: ['element-unmeetable'],
    cause: 'Dose after dose is refused by the limits',
    consequence: 'The crop goes without what was planned for it.',
    action: 'Read the reasons in the events; limits, stocks or probes do not fit the plan.',
    respondWithin: 'today',
    find: ({ refused }, { refusedCount }) =>
      refused.count >= refusedCount ? [{ detail: `${refused.count} in a row; the last: ${refused.why}` }] : [],
  },
  {
    id: 'dosing-idle',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: ['element-unmeetable'],
    cause: 'Nothing is being dosed, and an element will soon be short',
    consequence: 'A crop that takes a fifth of its nitrogen a day starves within days.',
    action: 'End what stops the doses, or feed by hand and log it.',
    respondWithin: 'today',
    find: ({ runsOut }, { runsOutMs }, isStanding) =>
      runsOut !== undefined && runsOut.inMs < runsOutMs * (isStanding() ? 1.2 : 1) ? [{ detail: runsOut.text }] : [],
  },
  {
    id: 'sample-overdue',
    priority: 'high',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: ['sample-due'],
    cause: 'No laboratory result for far too long',
    consequence: 'What two probes cannot see has drifted; the estimate is little more than a guess.',
    action: 'Draw a bottle today and send it.',
    respondWithin: '2 days',
    find: (facts, { sampleOverdueMs }) => older(facts, sampleOverdueMs),
  },
  {
    id: 'sample-due',
    priority: 'low',
    onDelayMs: () => 0,
    offDelayMs: 0,
    explains: [],
    cause: 'A laboratory result is due',
    consequence: 'The estimate grows less sure every day.',
    action: 'Draw a bottle, or add the report if it has come.',
    respondWithin: 'this week',
    find: (facts, { sampleDueMs }) => older(facts, sampleDueMs),
  },
  {
    id: 'element-unmeetable',
    priority: 'low',
    onDelayMs: ({ unmeetableDelayMs }) => unmeetableDelayMs,
    offDelayMs: 6 * HOUR_MS,
    explains: [],
    cause: 'An element stays outside its band and no dose can mend it',
    consequence: 'Growth and quality suffer slowly.',
    action: 'Renew part of the solution, or give another stock.',
    respondWithin: 'this week',
    find: ({ unmeetable }) => unmeetable.map(({ element, text }) => ({ subject: element, detail: text })),
  },
]

function outside(
  { probes }: AlarmFacts,
  ofRole: string,
  range: { readonly value: number | undefined; readonly unit: string; readonly min: number; readonly max: number },
): readonly Finding[] {
  const { value, unit, min, max } = range
  if (value === undefined || (value >= min && value <= max)) return []
  const probe = probes.find(({ role }) => role === ofRole)?.probe
  const detail = `${value.toFixed(2)}${unit}, allowed ${min} to ${max}`
  return [{ detail, ...(probe === undefined ? {} : { probe }) }]
}

/** With the day, not the age: an alarm keeps its words for as long as it stands. */
function older({ sample }: AlarmFacts, mostMs: number): readonly { detail: string }[] {
  if (sample === undefined || !(sample.ageMs > mostMs)) return []
  const { day, isFirstFill } = sample
  return [
    {
      detail: isFirstFill
        ? `no report has come since the first fill on ${day}`
        : `the last bottle was filled on ${day}`,
    },
  ]
}
