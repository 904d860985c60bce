import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { cruise, type ICruiseOptions, type ICruiseResult, type IForbiddenRuleType } from 'dependency-cruiser'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'

interface Rules {
  readonly forbidden: (IForbiddenRuleType & { readonly name: string })[]
  readonly options: ICruiseOptions & { readonly enhancedResolveOptions: object; readonly tsConfig: object }
}

const RULES_FILE = new URL('../../.dependency-cruiser.mjs', import.meta.url).href
const rules = ((await import(RULES_FILE)) as { default: Rules }).default

/** A room, what it wrongly imports, and the rule that must say so. */
const WRONG: readonly (readonly [string, string, string])[] = [
  ['src/contract/a.ts', 'src/chemistry/molar-mass.ts', 'contract-sees'],
  ['src/chemistry/a.ts', 'src/contract/message.ts', 'chemistry-sees'],
  ['src/formulation/a.ts', 'src/core/plan.ts', 'formulation-sees'],
  ['src/formulation/b.ts', 'src/contract/message.ts', 'formulation-sees'],
  ['src/core/a.ts', 'src/safety/judge.ts', 'core-sees'],
  ['src/core/b.ts', 'src/reservoir/step.ts', 'core-sees'],
  ['src/core/c.ts', 'src/config/salt-entry.ts', 'core-sees'],
  ['src/safety/a.ts', 'src/core/plan.ts', 'safety-sees'],
  ['src/safety/b.ts', 'src/chemistry/element.ts', 'safety-sees'],
  ['src/safety/c.ts', 'src/contract/message.ts', 'safety-sees'],
  ['src/reservoir/a.ts', 'src/ledger/port.ts', 'reservoir-sees'],
  ['src/reservoir/b.ts', 'src/shell/mqtt.ts', 'reservoir-sees'],
  ['src/reservoir/c.ts', 'src/formulation/recipe.ts', 'reservoir-sees'],
  ['src/reservoir/d.ts', 'src/config/parse.ts', 'reservoir-config-types-only'],
  ['src/config/a.ts', 'src/core/plan.ts', 'config-sees'],
  ['src/ledger/a.ts', 'src/core/plan.ts', 'ledger-sees'],
  ['src/ledger/b.ts', 'src/safety/judge.ts', 'ledger-sees'],
  ['src/ledger/c.ts', 'src/reservoir/step.ts', 'ledger-sees'],
  ['src/shell/a.ts', 'src/cli/run.ts', 'shell-sees'],
  ['src/shell/b.ts', 'simulator/plant.ts', 'shell-sees'],
  ['src/trial/a.ts', 'src/shell/mqtt.ts', 'trial-sees'],
  ['src/cli/a.ts', 'tests/support/bench.ts', 'cli-sees'],
  ['simulator/a.ts', 'src/chemistry/conductivity.ts', 'simulator-sees'],
  ['simulator/b.ts', 'src/core/plan.ts', 'simulator-sees'],
  ['src/shell/c.ts', 'tests/support/bench.ts', 'tests-stay-outside'],
  ['src/core/d.ts', 'node:fs', 'core-packages'],
  ['src/safety/d.ts', 'zod', 'safety-packages'],
  ['src/safety/e.ts', 'node:crypto', 'safety-packages'],
  ['src/chemistry/b.ts', 'mathjs', 'chemistry-packages'],
  ['src/formulation/c.ts', 'zod', 'formulation-packages'],
  ['src/contract/b.ts', 'node:fs', 'contract-packages'],
  ['src/reservoir/e.ts', 'node:crypto', 'reservoir-packages'],
  ['src/config/b.ts', 'mqtt', 'config-packages'],
  ['src/ledger/d.ts', 'mqtt', 'ledger-packages'],
  ['src/shell/d.ts', 'better-sqlite3', 'shell-packages'],
  ['src/trial/b.ts', 'fastify', 'trial-packages'],
  ['src/page/a.ts', 'src/shell/http.ts', 'page-sees'],
  ['src/page/b.ts', 'node:fs', 'page-packages'],
  ['src/cli/b.ts', 'fastify', 'cli-packages'],
  ['simulator/c.ts', 'fastify', 'simulator-packages'],
  ['src/shell/e.ts', 'fast-check', 'no-development-packages'],
  ['src/core/e.ts', 'src/core/nowhere.ts', 'no-missing'],
  ['src/core/f.ts', 'src/core/g.ts', 'no-cycles'],
]

const RIGHT: readonly (readonly [string, string])[] = [
  ['src/contract/right.ts', 'zod'],
  ['src/formulation/right.ts', 'src/chemistry/element.ts'],
  ['src/core/right.ts', 'src/contract/message.ts'],
  ['src/reservoir/right.ts', 'src/safety/judge.ts'],
  ['src/reservoir/right-too.ts', 'src/config/configuration-hash.ts'],
  ['src/ledger/right.ts', 'node:fs'],
  ['src/shell/right.ts', 'src/reservoir/step.ts'],
  ['src/cli/right.ts', 'simulator/plant.ts'],
  ['src/trial/right.ts', 'simulator/plant.ts'],
  ['simulator/right.ts', 'src/chemistry/molar-mass.ts'],
  ['tests/unit/right.ts', 'src/safety/judge.ts'],
]

const BARE = /^(node:|[a-z][a-z0-9-]*$)/
const PACKAGES = ['better-sqlite3', 'fast-check', 'fastify', 'mathjs', 'mqtt', 'zod']
let house = ''
let found: readonly string[] = []

function build(path: string, text: string): void {
  const file = join(house, path)
  mkdirSync(dirname(file), { recursive: true })
  writeFileSync(file, text)
}

function importing(from: string, to: string): string {
  const up = '../'.repeat(from.split('/').length - 1)
  return `import * as seen from '${BARE.test(to) ? to : `${up}${to}`}'\nexport const has = seen\n`
}

function buildHouse(): void {
  for (const [, to] of [...WRONG, ...RIGHT]) {
    if (!BARE.test(to) && !to.includes('nowhere')) build(to, 'export const name = 1\n')
  }
  for (const [from, to] of [...WRONG, ...RIGHT]) build(from, importing(from, to))
  build('src/core/g.ts', importing('src/core/g.ts', 'src/core/f.ts'))
  const config = { name: 'house', type: 'module', dependencies: {}, devDependencies: { 'fast-check': '*' } }
  const dependencies = Object.fromEntries(PACKAGES.filter((name) => name !== 'fast-check').map((name) => [name, '*']))
  build('package.json', JSON.stringify({ ...config, dependencies }))
  for (const name of PACKAGES) {
    build(`node_modules/${name}/package.json`, JSON.stringify({ name, main: 'index.js' }))
    build(`node_modules/${name}/index.js`, 'module.exports = {}\n')
  }
}

/** `rule: from → to`, of every import that a rule forbids. */
async function faultsOf(folder: string): Promise<string[]> {
  const { tsConfig: _tsConfig, ...options } = rules.options
  const cruised = await cruise(
    ['src', 'simulator', 'tests'],
    { ...options, baseDir: folder, validate: true, ruleSet: { forbidden: rules.forbidden } },
    options.enhancedResolveOptions,
  )
  const { violations } = (cruised.output as ICruiseResult).summary
  return violations.map(({ rule, from }) => `${rule.name}: ${from}`)
}

describe('the arrows of the house', () => {
  beforeAll(async () => {
    house = mkdtempSync(join(tmpdir(), 'tarnward-house-'))
    buildHouse()
    found = await faultsOf(house)
  })
  afterAll(() => rmSync(house, { recursive: true, force: true }))

  it.each(WRONG)('%s may not import %s', (from, _to, rule) => {
    expect(found).toContain(`${rule}: ${from}`)
  })

  it.each(RIGHT)('%s may import %s', (from) => {
    expect(found.filter((fault) => fault.endsWith(` ${from}`))).toEqual([])
  })

  it('each have a planted import that breaks them', () => {
    const broken = new Set(WRONG.map(([, , rule]) => rule))
    expect(rules.forbidden.map((rule) => rule.name).filter((name) => !broken.has(name))).toEqual([])
  })
})
