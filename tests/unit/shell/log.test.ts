import { expect, it } from 'vitest'
import { componentLog, createLog, formatLine } from '../../../src/shell/log.ts'

function caught(pretty: boolean) {
  const lines: string[] = []
  const log = createLog({ pretty, level: 'debug', destination: { write: (line) => lines.push(line) } })
  return { log, lines }
}

it('a line for machines has its level as a word, an ISO time and its component, and shows no secret', () => {
  const { log, lines } = caught(false)
  componentLog(log, 'mqtt').warn(
    { url: 'mqtt://b', credentials: { username: 'd', password: 'hush' }, token: 'hush' },
    'no connection',
  )
  const line = JSON.parse(lines[0]!) as { time: string }
  expect(line).toMatchObject({ level: 'warn', component: 'mqtt', msg: 'no connection', url: 'mqtt://b' })
  expect(line.time).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/)
  expect(lines[0]).not.toContain('hush')
})

it('a line for people begins with the time and ends with what else is known', () => {
  const line =
    '{"level":"info","time":"2026-03-02T14:32:07.123Z","component":"loop","msg":"+9.5 mL","stock":"nitrate","why":"low K"}\n'
  expect(formatLine(line)).toBe('14:32:07 info  loop     +9.5 mL stock=nitrate why="low K"\n')
  expect(formatLine('no json\n')).toBe('no json\n')
  const { log, lines } = caught(true)
  log.error({ err: new Error('torn') }, 'stopped')
  expect(lines[0]).toMatch(/^\d\d:\d\d:\d\d error\s+stopped\nError: torn\n/)
})
