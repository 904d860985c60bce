import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../../../src/chemistry/element.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { type Recipe, type RecipeQuestion, solveRecipe } from '../../../../src/formulation/recipe/recipe.ts'
import { type Setting, settingOf } from '../../../../src/formulation/recipe/recipe-setting.ts'
import {
  type Amounts,
  aimProgram,
  leastSalt,
  leastViolation,
  nearestToAim,
  saltProgram,
  type Violation,
  violationProgram,
} from '../../../../src/formulation/recipe/recipe-stage.ts'
import { loadOracle, type Oracle, objectiveOf } from '../solver/highs-oracle.ts'
import { LEAFY_BANDS, randomQuestion, saltNamed } from './random-recipe.ts'

const solved = (question: RecipeQuestion): Recipe => {
  const answer = solveRecipe(question)
  if (answer.kind !== 'recipe') throw new Error(answer.explanation)
  return answer
}
const mmol = (mgPerL: Partial<Record<ElementName, number>>) =>
  Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, mgPerL[name] ?? 0))
const asked = (
  names: readonly string[],
  present: Partial<Record<ElementName, number>> = {},
): RecipeQuestion & { salts: ReturnType<typeof saltNamed>[] } => ({
  presentMmolPerL: mmol(present),
  bands: LEAFY_BANDS,
  salts: names.map((name) => saltNamed(name)),
  ammoniumShareMax: 0.15,
})
const MACRO = [
  'calcium ammonium nitrate',
  'potassium nitrate',
  'monopotassium phosphate',
  'magnesium sulfate',
  'iron chelate',
]
const MICRO = ['manganese sulfate', 'zinc sulfate', 'copper sulfate', 'boric acid', 'sodium molybdate']

describe('a shelf of ten salts and pure water', () => {
  const question = asked([...MACRO, ...MICRO])

  it('brings every element into its band', () => {
    const recipe = solved(question)
    expect(recipe.unmet).toEqual([])
    expect(recipe.violation).toBeLessThan(1e-9)
    expect(recipe.isLeastSalt).toBe(true)
  })

  it('solves the others around a salt that is pinned', () => {
    const free = solved(question)
    const pinned = question.salts.map((salt) =>
      salt.name === 'potassium nitrate' ? { ...salt, pinnedGPerL: 0.2 } : salt,
    )
    const recipe = solved({ ...question, salts: pinned })
    expect(recipe.gPerL[1]).toBe(0.2)
    expect(recipe.gPerL[0]).toBeGreaterThan(free.gPerL[0]!)
    expect(recipe.distance).toBeGreaterThan(free.distance)
  })

  it('takes the lighter of two salts that do the same', () => {
    const recipe = solved(asked([...MACRO, ...MICRO, 'borax']))
    const [acid, borax] = [recipe.gPerL[8]!, recipe.gPerL[10]!]
    expect(acid).toBeGreaterThan(0.001)
    expect(borax).toBe(0)
  })
})

describe('why an element is out of its band', () => {
  const why = (question: RecipeQuestion, element: ElementName) =>
    solved(question).unmet.find((one) => one.element === element)?.why

  it('no salt carries it', () => {
    expect(why(asked(MACRO), 'B')).toMatch(
      /^B ends at 0 mg\/L, below its band from 0\.15: no salt on the shelf carries it/,
    )
  })

  it('boron comes with it', () => {
    // phosphorus only from a blend whose boron is at its limit long before
    const question = asked(['calcium nitrate', 'blend with boron'], { B: 0.3 })
    expect(why(question, 'P')).toMatch(/B comes with blend with boron and is at its limit/)
  })

  it('sodium stands over its band, and the only iron brings sodium', () => {
    const recipe = solved(asked(MACRO, { Na: 90 }))
    expect(recipe.gPerL[4]).toBe(0)
    expect(why(asked(MACRO, { Na: 90 }), 'Fe')).toMatch(/Na comes with iron chelate and is at its limit/)
    expect(why(asked(MACRO, { Na: 90 }), 'Na')).toMatch(/90 is there before any salt, and no salt lowers it/)
  })

  it('its salt is pinned, or limited', () => {
    const question = asked(MACRO)
    const withSalt = (change: object) => ({
      ...question,
      salts: question.salts.with(3, { ...question.salts[3]!, ...change }),
    })
    expect(why(withSalt({ pinnedGPerL: 0.05 }), 'Mg')).toMatch(/magnesium sulfate is pinned at 0\.05 g\/L/)
    expect(why(withSalt({ maxGPerL: 0.05 }), 'Mg')).toMatch(/magnesium sulfate is limited to 0\.05 g\/L/)
    expect(why(withSalt({ pinnedGPerL: 2 }), 'Mg')).toMatch(/most of it comes with magnesium sulfate, pinned at 2 g\/L/)
  })

  it('the ammonium of its salt would pass its share', () => {
    const question = { ...asked(['calcium nitrate', 'monoammonium phosphate']), ammoniumShareMax: 0.01 }
    expect(why(question, 'P')).toMatch(/the ammonium in monoammonium phosphate would pass its share of 1 %/)
  })

  it('phosphorus and potassium come in one salt, and one of them is over because the other is wanted', () => {
    const bands = LEAFY_BANDS.with(ELEMENT_INDEX.P, { low: 0, aim: 0.1, high: 0.2, weight: 0.1 })
    expect(why({ ...asked(['monopotassium phosphate']), bands }, 'P')).toMatch(
      /it comes with monopotassium phosphate, which is needed for K/,
    )
  })
})

describe('a thousand random waters, shelves and bands', () => {
  const questions = Array.from({ length: 1000 }, (_, seed) => randomQuestion(seed))
  const answers = questions.map((question) => solveRecipe(question))
  const each = (check: (question: RecipeQuestion, recipe: Recipe, seed: number) => void) => {
    for (const [seed, answer] of answers.entries()) if (answer.kind === 'recipe') check(questions[seed]!, answer, seed)
  }

  it('has a verified answer every time', () => {
    const without = [...answers.keys()].filter((seed) => answers[seed]!.kind !== 'recipe')
    expect(without).toEqual([])
  })

  it('never passes a hard ceiling, and never raises what must not be raised and is over its band', () => {
    each(({ bands, presentMmolPerL, salts }, { totalMmolPerL, broughtMmolPerL }, seed) => {
      for (const [e, name] of ELEMENTS.entries()) {
        const isNeverRaised = ['Na', 'Cl', 'B', 'Mn', 'Zn', 'Cu', 'NH4-N'].includes(name)
        const pinned = salts.reduce((sum, { mmolPerG, pinnedGPerL = 0 }) => sum + mmolPerG[e]! * pinnedGPerL, 0)
        const ceiling = Math.max(presentMmolPerL[e]! + pinned, (isNeverRaised ? 1 : 1.5) * bands[e]!.high)
        expect(totalMmolPerL[e], `${name} of ${seed}`).toBeLessThanOrEqual(ceiling * (1 + 1e-9))
        if (!isNeverRaised || presentMmolPerL[e]! + pinned <= bands[e]!.high) continue
        const free = broughtMmolPerL.reduce((sum, one) => sum + one[e]!, 0) - pinned
        expect(free, `${name} of ${seed}`).toBeLessThanOrEqual(1e-12 + 1e-9 * pinned)
      }
    })
  })

  it('keeps pinned amounts, limits and the share of ammonium, and its totals are what was there and what is added', () => {
    each(({ salts, presentMmolPerL, ammoniumShareMax }, { gPerL, totalMmolPerL }, seed) => {
      const brought = ELEMENTS.map((_, e) => salts.reduce((sum, salt, s) => sum + salt.mmolPerG[e]! * gPerL[s]!, 0))
      for (const [s, { pinnedGPerL, maxGPerL = Infinity }] of salts.entries()) {
        expect(gPerL[s], `${seed}`).toBeGreaterThanOrEqual(0)
        if (pinnedGPerL === undefined) expect(gPerL[s], `${seed}`).toBeLessThanOrEqual(maxGPerL * (1 + 1e-9))
        else expect(gPerL[s], `${seed}`).toBe(pinnedGPerL)
      }
      const pinned = (e: number) =>
        salts.reduce((sum, { mmolPerG, pinnedGPerL = 0 }) => sum + mmolPerG[e]! * pinnedGPerL, 0)
      const already = Math.max(0, pinned(1) - ammoniumShareMax * (pinned(0) + pinned(1)))
      expect(brought[1]! - ammoniumShareMax * (brought[0]! + brought[1]!), `${seed}`).toBeLessThanOrEqual(
        already + 1e-5,
      )
      for (const e of ELEMENTS.keys()) expect(totalMmolPerL[e]).toBeCloseTo(presentMmolPerL[e]! + brought[e]!, 9)
    })
  })

  it('needs twice the grams for twice the water, band and shelf alike', () => {
    for (const question of questions.slice(0, 60)) {
      const twice = {
        ...question,
        presentMmolPerL: question.presentMmolPerL.map((mmolPerL) => 2 * mmolPerL),
        bands: question.bands.map(({ low, aim, high, weight }) => ({
          low: 2 * low,
          aim: 2 * aim,
          high: 2 * high,
          weight,
        })),
        salts: question.salts.map(({ name, mmolPerG }) => ({ name, mmolPerG })),
      }
      const once = { ...question, salts: twice.salts }
      const [a, b] = [solved(once), solved(twice)]
      expect(b.saltGPerL).toBeCloseTo(2 * a.saltGPerL, 3)
      for (const [e, band] of question.bands.entries()) {
        if (band.weight > 0) expect(b.totalMmolPerL[e]! / band.aim).toBeCloseTo((2 * a.totalMmolPerL[e]!) / band.aim, 3)
      }
    }
  })
})

describe('five hundred random recipes beside a second solver', () => {
  let oracle: Oracle
  beforeAll(async () => {
    oracle = await loadOracle()
  })
  const stages = (seed: number): { setting: Setting; violation: Violation; near: Amounts; least: Amounts } => {
    const setting = settingOf(randomQuestion(seed))
    const violation = leastViolation(setting)
    if (violation.kind === 'no-answer') throw new Error(violation.explanation)
    const near = nearestToAim(setting, violation)
    if (near.kind === 'no-answer') throw new Error(near.explanation)
    const least = leastSalt(setting, near)
    if (least.kind === 'no-answer') throw new Error(least.explanation)
    return { setting, violation, near, least }
  }
  const inUnits = (setting: Setting, { gPerL }: Amounts) => gPerL.map((g, j) => g / setting.unitGPerL[j]!)
  /** Rows that all but contradict: there a hair more room moves the aim stage by a tenth (seed 95). */
  const ILL_SEEDS: ReadonlySet<number> = new Set([95])
  const FINEST = 1e-7

  it('finds nothing better in any of the three stages', () => {
    const gaps: number[] = []
    let asked = 0
    for (let seed = 0; seed < 500; seed++) {
      const { setting, violation, near, least } = stages(seed)
      const compare = (ours: number, theirs: { status: string; objective: number }, size: number, what: string) => {
        asked++
        if (theirs.status !== 'Optimal') return
        gaps.push((ours - theirs.objective) / size)
        expect(gaps.at(-1), `${what} of ${seed}`).toBeLessThan(1e-4)
      }
      const first = violationProgram(setting)
      const missed = violationCost(setting, violation)
      const theirs = oracle.solve(first.program)
      compare(missed, theirs, 1e-3 + missed, 'bands')
      if (ILL_SEEDS.has(seed)) continue
      const second = aimProgram(setting, violation, FINEST)
      const aimed = objectiveOf(second, inUnits(setting, near))
      compare(aimed, oracle.solve(second), 1e-3 + Math.abs(aimed), 'aims')
      const third = saltProgram(setting, near, FINEST)
      const flat = oracle.solve({ ...third, hessian: third.hessian.map((line) => new Float64Array(line.length)) })
      const grams = least.gPerL.reduce((sum, g) => sum + g, 0)
      const theirGrams = flat.x.reduce((sum, x, j) => sum + x * setting.unitGPerL[j]!, 0)
      compare(grams, { status: flat.status, objective: theirGrams }, 1e-3 + grams, 'salt')
    }
    // the second solver has no answer to some near-singular programs; a few of ours took the coarser try
    expect(gaps.length / asked).toBeGreaterThan(0.95)
    expect(gaps.filter((gap) => gap < 1e-6).length / gaps.length).toBeGreaterThan(0.99)
  }, 120_000)
})

function violationCost(setting: Setting, { shortMmolPerL, overMmolPerL }: Violation): number {
  return setting.weight.reduce((sum, weight, e) => {
    const unit = setting.shareOf[e]! || 1
    return sum + (weight * ((shortMmolPerL[e]! / unit) ** 2 + 3 * (overMmolPerL[e]! / unit) ** 2)) / 2
  }, 0)
}
