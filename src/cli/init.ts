/** `tarnward init`: a checked site file and its limits file, from a few questions. */

import { existsSync } from 'node:fs'
import { mkdir, readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { createInterface } from 'node:readline/promises'
import type { Crops, Salts } from '../config/configuration.ts'
import { formatConfigurationError } from '../config/configuration-error.ts'
import { cropsSchema } from '../config/crops-schema.ts'
import { parseConfiguration } from '../config/parse-configuration.ts'
import { saltsSchema } from '../config/salts-schema.ts'
import { createRealClock } from '../shell/clock.ts'
import { CommandFailure } from './command-failure.ts'
import { limitsText } from './init-limits.ts'
import { type Question, questions, readFitted } from './init-questions.ts'
import { type Answers, planOf, siteText } from './init-site.ts'
import { ownFile, readChecked } from './recipe-files.ts'
import { readKnownWaters, readWater } from './water-files.ts'

/** Answers by flag or file; what is missing is asked for at a terminal. */
export interface InitOptions {
  readonly out: string
  readonly answers?: string
  readonly stock?: readonly string[]
  readonly [key: string]: string | readonly string[] | undefined
}

const OWN_FILES = ['crops.yaml', 'salts.yaml'] as const

/**
 * Writes site.yaml and limits.yaml, and the crops and salts beside them where there are none. Nothing is written over,
 * and nothing at all where the result would not run.
 */
export async function init(options: InitOptions): Promise<void> {
  const { out } = options
  for (const name of ['site.yaml', 'limits.yaml']) {
    if (existsSync(join(out, name)))
      throw new CommandFailure(
        'usage',
        `${join(out, name)} is there already and is left alone; name another folder with --out`,
      )
  }
  const answers = await allAnswers(await givenAnswers(options))
  const texts = await textsOf(answers, out)
  const reading = await parseConfiguration({
    site: { name: 'site.yaml', text: texts['site.yaml']! },
    limits: { name: 'limits.yaml', text: texts['limits.yaml']! },
    crops: { name: 'crops.yaml', text: texts['crops.yaml']! },
    salts: { name: 'salts.yaml', text: texts['salts.yaml']! },
  })
  if (!reading.ok)
    throw new CommandFailure(
      'configuration',
      ['Nothing was written:', ...reading.errors.map(formatConfigurationError)].join('\n'),
    )
  await mkdir(out, { recursive: true })
  const written: string[] = []
  for (const [name, text] of Object.entries(texts)) {
    const path = join(out, name)
    if (existsSync(path)) continue
    await writeFile(path, text, { flag: 'wx' })
    written.push(path)
  }
  process.stdout.write(
    `Written: ${written.join(', ')}. The mode is observe: nothing is dosed until a person raises it.\n${NEXT}`,
  )
}

const NEXT = `Next: read both files and correct what you know better; measure every pump (an acid pump with water);
then tarnward run --config site.yaml and watch for some days before the mode is raised.
`

/** What was answered before anybody is asked; a file of answers is JSON by the names of the options. */
async function givenAnswers(options: InitOptions): Promise<Answers> {
  const fromFile = options.answers === undefined ? {} : await readAnswers(options.answers)
  const all: Record<string, unknown> = {
    ...fromFile,
    ...Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined)),
  }
  const stocks = options.stock && options.stock.length > 0 ? options.stock : (fromFile['stock'] ?? [])
  const known = questions(0).filter(({ isList }) => !isList)
  const one = known.flatMap(({ key }) => (all[key] === undefined ? [] : [[key, String(all[key])] as const]))
  return { one: Object.fromEntries(one), stocks: [stocks].flat().map(String) }
}

async function readAnswers(path: string): Promise<Record<string, unknown>> {
  const text = await readFile(path, 'utf8').catch(() => {
    throw new CommandFailure('no-input', `--answers: no readable file at ${path}`)
  })
  try {
    const answers: unknown = JSON.parse(text)
    if (typeof answers === 'object' && answers !== null && !Array.isArray(answers))
      return answers as Record<string, unknown>
  } catch {}
  throw new CommandFailure(
    'data',
    `${path}: an object of answers as JSON is needed, such as {"name": "my-site", "volume": 220}`,
  )
}

/** Those given, checked, and the rest asked for; without a terminal the first that is missing ends the command. */
async function allAnswers(given: Answers): Promise<Answers> {
  const asked = questions(createRealClock().wallMs())
  const one: Record<string, string> = {}
  let stocks = given.stocks
  const prompt = process.stdin.isTTY ? createInterface({ input: process.stdin, output: process.stdout }) : undefined
  try {
    for (const question of asked) {
      const { key, isList } = question
      if (isList) stocks = stocks.length > 0 ? checked(question, stocks) : await askList(question, prompt)
      else if (given.one[key] !== undefined) one[key] = checked(question, [given.one[key]])[0]!
      else one[key] = await ask(question, prompt)
    }
  } finally {
    prompt?.close()
  }
  return { one, stocks }
}

function checked({ key, check }: Question, answers: readonly string[]): readonly string[] {
  for (const answer of answers) {
    const wrong = check(answer)
    if (wrong !== undefined) throw new CommandFailure('usage', `--${key}: found "${answer}"; allowed: ${wrong}`)
  }
  return answers
}

type Prompt = ReturnType<typeof createInterface> | undefined

/** Asked until the answer can be read. */
async function ask({ key, ask: words, usual, check }: Question, prompt: Prompt): Promise<string> {
  if (prompt === undefined) {
    if (usual !== undefined) return usual
    throw new CommandFailure('usage', `--${key} is missing: ${words}`)
  }
  for (;;) {
    const answer =
      (await prompt.question(`${words}${usual === undefined ? '' : ` [${usual}]`}: `)).trim() || (usual ?? '')
    const wrong = check(answer)
    if (wrong === undefined) return answer
    process.stdout.write(`  Found "${answer}"; allowed: ${wrong}.\n`)
  }
}

async function askList(question: Question, prompt: Prompt): Promise<readonly string[]> {
  if (prompt === undefined) throw new CommandFailure('usage', `--${question.key} is missing: ${question.ask}`)
  const answers: string[] = []
  for (;;) {
    const answer = (await prompt.question(`${question.ask}: `)).trim()
    if (answer === '' && answers.length > 0) return answers
    const wrong = question.check(answer)
    if (wrong === undefined) answers.push(answer)
    else process.stdout.write(`  Found "${answer}"; needed: ${wrong}.\n`)
  }
}

/** The four files; crops and salts are the folder’s own where it has them, else the package’s. */
async function textsOf(answers: Answers, out: string): Promise<Readonly<Record<string, string>>> {
  const [cropsYaml, saltsYaml] = OWN_FILES.map((name) =>
    existsSync(join(out, name)) ? join(out, name) : ownFile(name),
  )
  const { crops } = await readChecked(cropsYaml!, cropsSchema)
  const salts = await readChecked(saltsYaml!, saltsSchema)
  const { water } = await readWater(await readKnownWaters(), { from: answers.one['water']!.trim() })
  const fitted = (key: string) => readFitted(answers.one[key]!)
  const plan = planOf(answers, water, { level: fitted('level'), meter: fitted('meter'), flow: fitted('flow') })
  const crop = crops[plan.crop]
  if (crop === undefined)
    throw new CommandFailure(
      'usage',
      `--crop: found "${plan.crop}"; the crops file has ${Object.keys(crops).join(', ')}`,
    )
  const strange = plan.stocks
    .flatMap((stock) => stock.salts.map(({ salt }) => salt))
    .filter((salt) => salts.salts[salt] === undefined)
  if (strange.length > 0)
    throw new CommandFailure(
      'usage',
      `--stock: found "${strange[0]}"; the salts file has ${Object.keys(salts.salts).join(', ')}`,
    )
  return {
    'site.yaml': siteText(plan, crop as Crops[string]),
    'limits.yaml': limitsText(plan, salts as unknown as Salts, crop as Crops[string]),
    'crops.yaml': await readFile(cropsYaml!, 'utf8'),
    'salts.yaml': await readFile(saltsYaml!, 'utf8'),
  }
}
