/** Limits of alarms and the people who are told: part of the site file. Every default has its reason beside it. */

import { z } from 'zod'
import { number, quantity, share, text, whole } from './field.ts'

const person = z
  .strictObject({
    name: text('who it is, as it stands in messages', 60),
    webhook: z
      .string()
      .regex(/^https?:\/\/[^\s]+$/, { error: 'an address such as https://example.org/alarms' })
      .meta({ description: 'where messages for this person are posted, as JSON' }),
    secretFile: text(
      'file that holds the secret which signs each message and nothing else, relative to this one',
      400,
    ).optional(),
  })
  .meta({ description: 'somebody who is told of alarms' })

export const alarmsSchema = z
  .strictObject({
    // film roots wilt in 1 to 3 h of sun: minutes to see that it is no hiccup, an hour to act
    flowDelayMin: quantity('min', 0.5, 15, 'circulation too slow for so long').default(2),
    nodeSilentMin: quantity('min', 0.5, 30, 'a node or the way to it silent for so long').default(2),
    probeSilentMin: quantity('min', 1, 120, 'a probe without a plausible value for so long').default(5),
    levelDelayMin: quantity('min', 1, 120, 'level outside its limits for so long').default(5),
    // oxygen falls and root rot gains from about 25 °C on; 27 °C for half an hour is no passing sun
    waterWarmC: quantity('degC', 18, 40, 'the solution is too warm above').default(27),
    waterColdC: quantity('degC', 0, 18, 'the solution is too cold below').default(10),
    waterDelayMin: quantity('min', 1, 240, 'too warm or too cold for so long').default(30),
    waterLossMaxLPerH: number(
      0.1,
      5000,
      'more water lost in an hour is a leak; three times what the crop drinks',
    ).optional(),
    rangeDelayMin: quantity('min', 1, 240, 'EC or pH outside the range of the limits for so long').default(30),
    // meters are made to 3 to 8 %, and a month of film adds some; beyond 15 % one wants cleaning
    conductivityDriftShare: share('EC probe off by more than this share of its reading').default(0.15),
    phDrift: number(0.1, 2, 'pH probe off by more').default(0.4),
    doubtDelayH: quantity('h', 0.1, 72, 'a probe doubted for so long').default(2),
    refusedCount: whole(1, 100, 'so many doses refused one after another').default(5),
    runsOutH: quantity('h', 1, 240, 'nothing is dosed and an element reaches its low edge sooner than this').default(
      24,
    ),
    stockLeftShare: share('a stock is low when less of its last fill is left').default(0.1),
    stockLeftDays: number(0, 60, 'or when it lasts for fewer days at the rate since then').default(2),
    sampleEveryDays: quantity('day', 1, 120, 'a bottle for the laboratory is drawn every so many days').default(14),
    laboratoryDays: quantity('day', 0, 60, 'from drawing a bottle to its report').default(7),
    unmeetableDelayH: quantity('h', 1, 240, 'an element that no dose can mend, for so long').default(48),
    people: z.array(person).max(8).default([]).meta({ description: 'who is told, in this order' }),
    nextPersonMin: quantity('min', 1, 240, 'unseen for so long, the next person is told').default(15),
    repeatMin: quantity('min', 5, 1440, 'then all are told again and again').default(60),
  })
  .meta({ description: 'when an alarm is raised, and who is told' })
