/** The days whose diaries are kept. */

import type { Configuration } from '../../src/config/configuration.ts'
import { HOUR_MS, LoopBench, MINUTE_MS } from '../support/loop/bench.ts'

export interface Day {
  readonly file: string
  readonly title: string
  readonly story: string
  readonly live: (configuration: Configuration) => LoopBench
}

/** A bench whose crop drinks and feeds, up and running for some minutes. */
function bench(configuration: Configuration): LoopBench {
  const made = new LoopBench(configuration)
  made.start()
  return made
}

function pass(on: LoopBench, minutes: number): void {
  for (let minute = 0; minute < minutes; minute += 5) {
    on.shown['ec-1'] = on.shown['ec-1']! - 0.0002
    on.shown['meter-1'] = Math.round((on.shown['meter-1']! + 0.04) * 100) / 100
    on.minutes(Math.min(5, minutes - minute))
  }
}

/** The same while EC is not read. */
function drink(on: LoopBench, minutes: number): void {
  for (let minute = 0; minute < minutes; minute += 5) {
    on.shown['meter-1'] = Math.round((on.shown['meter-1']! + 0.04) * 100) / 100
    on.minutes(5)
  }
}

function untilShot(on: LoopBench): void {
  for (let minute = 0; minute < 240 && !isShotOpen(on); minute++) on.minutes(1)
  if (!isShotOpen(on)) throw new Error('no shot in four hours')
}

function isShotOpen(on: LoopBench): boolean {
  return on.state.safety.book.commands.some(({ status }) => status === 'open')
}

export const DAYS: readonly Day[] = [
  {
    file: 'normal-day.txt',
    title: 'A normal day',
    story:
      'Plans by the hour, shots of what the crop took, acid for what the make-up water brings. Nobody is in the room.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 12 * 60)
      return on
    },
  },
  {
    file: 'lost-report.txt',
    title: 'A report is lost, and the totaliser settles it',
    story: 'The pump runs, but nobody hears of it; the node’s count of run time tells at its next heartbeat.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 5)
      on.areReportsLost = true
      pass(on, 55)
      on.areReportsLost = false
      pass(on, 60)
      return on
    },
  },
  {
    file: 'reboot-in-mid-shot.txt',
    title: 'The node starts anew in the middle of a shot',
    story: 'The shot is cut short and the node silent for ten minutes; what ran is known once it counts again.',
    live(configuration) {
      const on = bench(configuration)
      untilShot(on)
      on.nowMs += 2000
      on.isNodeSilent = true
      on.minutes(10)
      on.isNodeSilent = false
      on.reboot({ ranMs: 2000 })
      pass(on, 60)
      return on
    },
  },
  {
    file: 'restart-in-mid-shot.txt',
    title: 'The daemon starts anew in the middle of a shot, and its node is gone',
    story:
      'Lightning takes the node and restarts the daemon. No pump runs until it is settled what the shot became; the node never comes back, so Ines closes it as delivered and fits a new one.',
    live(configuration) {
      const on = bench(configuration)
      untilShot(on)
      on.isNodeSilent = true
      on.nowMs += 20_000
      on.start(2)
      on.minutes(6)
      const [lost] = on.state.safety.book.commands
      if (!lost) throw new Error('nothing was on its way')
      on.instruct({ instruction: 'reset', trip: `unsettled:${lost.commandId}` }, 'the node is burnt out')
      on.isNodeSilent = false
      on.reboot()
      pass(on, 60)
      return on
    },
  },
  {
    file: 'ration.txt',
    title: 'EC is lost, and a ration goes on',
    story:
      'Ines has approved a ration beforehand. A cable breaks; no plan can be carried out, so the crop gets its share for each metered litre. A hold stops that too; with EC back the plans go on.',
    live(configuration) {
      const stocks = { calcium: { mlPerL: 2, dayMaxMl: 40 }, nitrate: { mlPerL: 6, dayMaxMl: 120 } }
      const reason = 'seedlings starve in two days'
      const ration = { reason, covers: ['conductivity' as const], daysMost: 2, makeUpMaxLPerMin: 4, stocks }
      const on = bench({ ...configuration, limits: { ...configuration.limits, ration } })
      pass(on, 5)
      on.instruct({ instruction: 'ration', decision: 'approve' }, 'I am away until Monday')
      pass(on, 85)
      on.shown['ec-1'] = undefined
      drink(on, 120)
      on.instruct({ instruction: 'hold' }, 'to see whether it stops')
      drink(on, 30)
      on.instruct({ instruction: 'release' }, 'it does')
      drink(on, 30)
      on.shown['ec-1'] = 1.7
      pass(on, 60)
      return on
    },
  },
  {
    file: 'flow-stops.txt',
    title: 'The circulation stops and comes back',
    story: 'A blocked filter at the second hour; for 25 minutes nothing flows, and the film lies in the tank.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 90)
      on.shown['flow-1'] = 0
      on.shown['level-1'] = on.shown['level-1']! + 12
      pass(on, 25)
      on.instruct({ instruction: 'acknowledge', alarm: 'no-flow' }, 'on my way')
      on.shown['flow-1'] = 8
      on.shown['level-1'] = on.shown['level-1']! - 12
      pass(on, 90)
      return on
    },
  },
  {
    file: 'late-report.txt',
    title: 'A laboratory report comes late',
    story: 'Of a bottle filled hours ago; then it is corrected, and another is refused for its date.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 6 * 60)
      const sampledAtMs = on.nowMs - 4 * HOUR_MS - 7 * MINUTE_MS
      const values = [
        { element: 'NO3-N', mgPerL: 139 },
        { element: 'NH4-N', belowMgPerL: 0.2 },
        { element: 'K', mgPerL: 170 },
        { element: 'Ca', mgPerL: 141 },
      ]
      on.report({ id: 'r-17', sampledAtMs, values })
      pass(on, 60)
      on.report({
        id: 'r-17',
        sampledAtMs,
        values: values.map((one) => (one.element === 'K' ? { element: 'K', mgPerL: 190 } : one)),
      })
      on.report({ id: 'r-18', sampledAtMs: on.nowMs + 26 * HOUR_MS, values })
      on.withdraw('r-99')
      pass(on, 60)
      return on
    },
  },
  {
    file: 'hold-and-release.txt',
    title: 'Hold and release',
    story: 'The bench is cleaned and partly renewed for an hour and a half; nothing is dosed meanwhile.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 65)
      on.instruct({ instruction: 'hold' }, 'the bench is being cleaned')
      pass(on, 30)
      on.act({ act: 'drained', doneAtMs: on.nowMs - 20 * MINUTE_MS, volumeL: 40 })
      on.act({ act: 'topped-up', doneAtMs: on.nowMs - 5 * MINUTE_MS, volumeL: 40 })
      on.shown['ec-1'] = on.shown['ec-1']! * 0.86
      on.shown['ph-1'] = 7.1
      on.act({ act: 'salt-added', doneAtMs: on.nowMs - 4 * MINUTE_MS, salt: 'table salt', massG: 30 })
      pass(on, 60)
      on.instruct({ instruction: 'release' }, 'clean again')
      pass(on, 75)
      return on
    },
  },
  {
    file: 'cause-and-consequences.txt',
    title: 'One cause, its consequences under it',
    story: 'The node loses its power for half an hour. One alarm is raised; what follows from it is listed, not told.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 30)
      on.isNodeSilent = true
      on.minutes(30)
      on.isNodeSilent = false
      on.reboot()
      pass(on, 15)
      on.instruct({ instruction: 'acknowledge', alarm: 'node-silent:bench' }, 'the fuse was out')
      return on
    },
  },
  {
    file: 'spot-reading.txt',
    title: 'A handheld reading on probation, and a wild one',
    story:
      'Ines has a new ion meter. It says little until a laboratory has agreed with it; a slip of the unit says nothing.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 60)
      readPotassium(on, 212)
      pass(on, 20)
      readPotassium(on, 2050)
      pass(on, 20)
      return on
    },
  },
  {
    file: 'shelving.txt',
    title: 'An alarm is put aside until its end',
    story: 'A hot day nobody can cool: the alarm is shelved, for too long at first, and comes back by itself.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 10)
      on.shown['temperature-1'] = 28
      pass(on, 35)
      const shelve = (hours: number) =>
        on.instruct(
          { instruction: 'shelve', alarm: 'water-warm', untilMs: on.nowMs + hours * HOUR_MS },
          'known, no chiller',
        )
      shelve(30)
      shelve(1)
      pass(on, 65)
      on.shown['temperature-1'] = 24
      pass(on, 5)
      return on
    },
  },
  {
    file: 'report-held.txt',
    title: 'A report is held, and accepted',
    story:
      'Phosphorus stands in the report as P2O5. Charge and EC pass it; the running estimate does not. The laboratory sends the value again.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 60)
      const sampledAtMs = on.nowMs - HOUR_MS / 2
      const values = [
        { element: 'P', mgPerL: 91 },
        { element: 'K', mgPerL: 204 },
      ]
      on.report({ id: 'lw-17', sampledAtMs, values })
      pass(on, 20)
      const by = { by: 'Ines', reason: 'the laboratory confirms it: the bottle stood beside the phosphate stock' }
      on.give({ kind: 'laboratory-decision', atMs: on.nowMs, ...by, id: 'lw-17', decision: 'accept' })
      pass(on, 40)
      return on
    },
  },
  {
    file: 'escalation.txt',
    title: 'Nobody answers, so the next person is told',
    story: 'The circulation stops at night. The first person sleeps; the second sees it after the hour.',
    live(configuration) {
      const people = ['Ines', 'Tomas'].map((name) => ({ name, webhook: 'https://hooks.example/alarms' }))
      const alarms = { ...configuration.site.alarms, people }
      const on = bench({ ...configuration, site: { ...configuration.site, alarms } })
      pass(on, 10)
      on.shown['flow-1'] = 0
      pass(on, 85)
      on.instruct({ instruction: 'acknowledge', alarm: 'no-flow' }, 'on my way')
      pass(on, 30)
      on.shown['flow-1'] = 8
      pass(on, 5)
      return on
    },
  },
  {
    file: 'lost-volume.txt',
    title: 'Solution is lost and nobody wrote it down',
    story: 'Somebody lets fifty litres go. For an hour nothing is planned; then the balance gives way and says so.',
    live(configuration) {
      const on = bench(configuration)
      pass(on, 60)
      on.shown['level-1'] = on.shown['level-1']! - 50
      pass(on, 120)
      return on
    },
  },
]

function readPotassium(on: LoopBench, value: number): void {
  const reading = { quantity: 'K', value, readAtMs: on.nowMs } as const
  on.give({ kind: 'spot-reading', atMs: on.nowMs, by: 'Ines, ion meter', reading })
}
