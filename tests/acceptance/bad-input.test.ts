import { cpSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { beforeEach, describe, expect, it } from 'vitest'
import { ROOT, startTarnward, tarnward } from '../support/acceptance/tarnward.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'

let folder: string
beforeEach(() => {
  folder = scratchFolder()
  cpSync(join(ROOT, 'config'), folder, { recursive: true })
})

/** Changes one line of a file of the example site, and says which line it was. */
function edit(file: string, from: string, to: string): number {
  const path = join(folder, 'example', file)
  const text = readFileSync(path, 'utf8')
  const at = text.indexOf(from)
  if (at < 0) throw new Error(`${file} has no "${from}"`)
  writeFileSync(path, text.replace(from, to))
  return text.slice(0, at).split('\n').length
}

const site = () => join(folder, 'example/site.yaml')
const run = () =>
  tarnward('run', '--config', site(), '--state-dir', join(folder, 'state'), '--port', '0', '--for', '1s')

/** How the line of one stock begins in the example’s limits. */
const NITRATE = '  nitrate:   { shotMaxMl: 40, hourMaxMl: 80, '

describe('a site that is not as it should be is refused with code 78 and the place', () => {
  it('an unknown key', async () => {
    const line = edit('site.yaml', '  volumeMinL: 120', '  volumeMinL: 120\n  volumeMidL: 180')
    const { code, stderr, stdout } = await run()
    expect({ code, stdout }).toEqual({ code: 78, stdout: '' })
    expect(stderr).toContain(`site.yaml:${line + 1}:3  reservoir.volumeMidL: `)
    expect(stderr).toContain('volumeMinL')
  })

  it('a missing limit', async () => {
    edit('limits.yaml', `${NITRATE} dayMaxMl: 700,`, NITRATE)
    const { code, stderr } = await run()
    expect(code).toBe(78)
    expect(stderr).toMatch(/limits\.yaml:\d+:\d+ {2}stocks\.nitrate\.dayMaxMl: found nothing, allowed 0 to 200000 mL/)
  })

  it('no limits at all for a stock', async () => {
    edit('limits.yaml', `${NITRATE} `, `  # ${NITRATE} `)
    const { code, stderr } = await run()
    expect(code).toBe(78)
    expect(stderr).toMatch(/limits\.yaml:\d+:\d+ {2}stocks\.nitrate: found no limits for the stock nitrate/)
    expect(stderr).toContain('a stock without limits is never dosed')
  })

  it('a unit that does not fit', async () => {
    const line = edit('site.yaml', '  volumeL: 220', '  volumeL: 220 kg')
    const { code, stderr } = await run()
    expect(code).toBe(78)
    expect(stderr).toMatch(
      new RegExp(`site\\.yaml:${line}:12 {2}reservoir\\.volumeL: found .*220 kg.*, allowed a number in L`),
    )
  })

  it('several faults in several files are all told at once', async () => {
    edit('site.yaml', '  volumeL: 220', '  volumeL: 220 kg')
    edit('limits.yaml', 'mode: observe', 'mode: reckless')
    const { code, stderr } = await run()
    expect(code).toBe(78)
    expect(
      stderr
        .trim()
        .split('\n')
        .filter((line) => /^\S+\.yaml:\d+:\d+ {2}/.test(line)),
    ).toHaveLength(2)
    expect(stderr).toContain('allowed one of observe, advise, automatic')
  })

  it('a file that is not there', async () => {
    const { code, stderr } = await tarnward('run', '--config', join(folder, 'nowhere.yaml'))
    expect(code).toBe(78)
    expect(stderr).toContain('nowhere.yaml:1:1  found no readable file')
  })
})

describe('a laboratory file that cannot be read is refused with its place, and the estimate stays', () => {
  it('empty, unknown analyte, text for a number, wrong unit, from the future; then a good one is taken', async () => {
    const daemon = await startTarnward('run', '--demo', '--days', '1', '--for', '60s', '--port', '0')
    const url = /http:\/\/[\d.]+:\d+/.exec(await daemon.line(/the page is at http/, 40_000))![0]
    const add = (file: string, sampledAt = '2026-03-02T12:00:00Z') =>
      tarnward('lab', 'add', file, '--sampled-at', sampledAt, '--url', url)
    const write = (name: string, text: string) => {
      const path = join(folder, name)
      writeFileSync(path, text)
      return path
    }
    const good = join(folder, 'example/laboratory-2026-03-16.csv')

    const empty = await add(write('empty.csv', ''))
    expect(empty).toMatchObject({ code: 65, stdout: '' })
    expect(empty.stderr).toContain('empty.csv:1:1  the file is empty')

    const wrong = await add(
      write('wrong.csv', 'Parameter;Result;Unit\nNitrate-N;138;mg/L\nUnobtainium;3;mg/L\nPotassium;plenty;mg/L\n'),
    )
    expect(wrong).toMatchObject({ code: 65, stdout: '' })
    expect(wrong.stderr).toContain("wrong.csv:3:1  found an unknown analyte 'Unobtainium'")
    expect(wrong.stderr).toContain("wrong.csv:4:11  found 'plenty' for Potassium, allowed a number")

    const unit = await add(write('unit.csv', 'Parameter;Result;Unit\nPotassium;182;furlong\n'))
    expect(unit.code).toBe(65)
    expect(unit.stderr).toContain("unit.csv:2:15  found an unknown unit 'furlong' for Potassium")

    const picture = await add(
      write('picture.json', JSON.stringify(Object.fromEntries(Array.from({ length: 40 }, (_, at) => [`x${at}`, 1])))),
    )
    expect(picture.code).toBe(65)
    expect(picture.stderr.trim().split('\n').length).toBeLessThanOrEqual(17)

    expect(await add(good, '2027-03-02T12:00:00Z')).toMatchObject({
      code: 65,
      stderr: expect.stringContaining('in the future'),
    })
    expect(await add(good, 'yesterday')).toMatchObject({
      code: 64,
      stderr: expect.stringContaining('--sampled-at: found "yesterday"'),
    })
    expect(await add(join(folder, 'none.csv'))).toMatchObject({
      code: 66,
      stderr: expect.stringContaining('none.csv cannot be read'),
    })

    expect(daemon.text()).not.toContain('moved the estimate')
    expect(await add(good)).toMatchObject({ code: 0, stdout: expect.stringContaining('Taken as') })
    await daemon.line(/moved the estimate/)
    expect(await daemon.kill('SIGINT')).toBe(0)
  })
})

describe('a command without its counterpart', () => {
  it('no daemon answers: code 69, and what to do', async () => {
    const { code, stderr } = await tarnward('status', '--url', 'http://127.0.0.1:1')
    expect({ code, stderr }).toEqual({
      code: 69,
      stderr: 'No daemon answers at http://127.0.0.1:1. Start it with "tarnward run", or name its page with --url.\n',
    })
  })

  it('an address that is none: code 64', async () => {
    expect(await tarnward('status', '--url', 'nonsense')).toMatchObject({
      code: 64,
      stderr: '--url: found "nonsense"; an address such as http://127.0.0.1:8420 is needed\n',
    })
  })

  it('a scenario that is not there: code 66', async () => {
    expect(await tarnward('simulate', '--scenario', 'nowhere.yaml')).toMatchObject({
      code: 66,
      stderr: 'nowhere.yaml: there is no such scenario file; config/scenarios has some\n',
    })
  })

  it('a second daemon on the same state folder: code 69, the first goes on', async () => {
    const args = ['run', '--config', site(), '--state-dir', join(folder, 'state'), '--port', '0']
    const first = await startTarnward(...args)
    await first.line(/keeping quarry-lane/)
    const second = await tarnward(...args, '--for', '5s')
    expect(second).toMatchObject({
      code: 69,
      stderr: expect.stringMatching(/keeps quarry-lane already; stop that one first/),
    })
    expect(await first.kill('SIGTERM')).toBe(0)
  })
})
