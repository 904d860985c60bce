/**
 * What the tests of the gate use of the ordinary runner, in one process: thousands of mutants are asked, and starting
 * the ordinary runner anew for each of them would take a hundred times as long as the tests themselves.
 */

export { expect } from 'vitest'
export { forgetReadyBenches } from '../safety/bench.ts'

type Body = (...row: never[]) => unknown

export interface CollectedTest {
  readonly name: string
  readonly body: () => unknown
  readonly after: readonly Body[]
}

interface Suite {
  readonly name: string
  readonly after: Body[]
}

const collected: CollectedTest[] = []
let suites: Suite[] = [{ name: '', after: [] }]

/** The tests registered since the last call, each with a name of its own. */
export function takeTests(): readonly CollectedTest[] {
  const tests = collected.splice(0)
  suites = [{ name: '', after: [] }]
  return tests
}

/** Begins a file: its names and hooks are its own. */
export function beginFile(name: string): void {
  suites = [{ name, after: [] }]
}

export function describe(name: string, body: () => void): void {
  suites.push({ name, after: [] })
  body()
  suites.pop()
}

export function afterEach(body: Body): void {
  suites.at(-1)?.after.push(body)
}

type Registered = (() => unknown) | { readonly timeout: number }

/** @param rest the test itself, after a time limit where it has one; none is kept here */
function register(name: string, ...rest: readonly Registered[]): void {
  const body = rest.at(-1) as () => unknown
  const path = [...suites.map((suite) => suite.name), name].join(' › ')
  const twins = collected.filter((test) => test.name === path || test.name.startsWith(`${path} #`)).length
  const after = suites.flatMap((suite) => suite.after)
  collected.push({ name: twins === 0 ? path : `${path} #${twins + 1}`, body, after })
}

export const it = Object.assign(register, {
  each:
    (rows: readonly unknown[]) =>
    (name: string, body: Body): void => {
      for (const row of rows)
        register(name, () => (Array.isArray(row) ? body(...(row as never[])) : body(row as never)))
    },
})
