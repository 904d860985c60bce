import { describe, expect, it } from 'vitest'
import { type Report, sumLine, sumUp } from '../support/sum-up.ts'

const file = (status: string, ...tests: string[]): Report['testResults'][number] => ({
  name: 'a.test.ts',
  status,
  startTime: 0,
  endTime: 1,
  assertionResults: tests.map((test) => ({ status: test })),
})

describe('the last line of the tests', () => {
  it('counts tests over files, and names what was skipped only where there is any', () => {
    const whole = { testResults: [file('passed', 'passed', 'passed'), file('passed', 'passed')] }
    expect(sumLine(sumUp(whole, 0, 0))).toBe('3 passed, 0 failed')
    const partly = { testResults: [file('failed', 'passed', 'failed', 'pending', 'skipped')] }
    expect(sumLine(sumUp(partly, 0, 1))).toBe('1 passed, 1 failed, 2 skipped')
  })

  it.each([
    ['a check that failed', { testResults: [file('passed', 'passed')] }, 2, 0, '1 passed, 2 failed'],
    ['a file that could not be loaded', { testResults: [file('failed')] }, 0, 1, '0 passed, 1 failed'],
    ['a hook that broke after its tests', { testResults: [file('failed', 'passed')] }, 0, 1, '1 passed, 1 failed'],
    ['an error outside every test', { testResults: [file('passed', 'passed')] }, 0, 1, '1 passed, 1 failed'],
    ['a report that is not there', undefined, 0, 1, '0 passed, 1 failed'],
  ])('counts %s as a failure', (_what, report, failedChecks, vitestExit, line) => {
    expect(sumLine(sumUp(report, failedChecks, vitestExit))).toBe(line)
  })
})
