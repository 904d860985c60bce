/** Commands by which people tell the daemon what they did, measured, and whom it may listen to: wiring only. */

import type { Command } from 'commander'
import type { ActFields, ActOptions, amount as amountOf } from './act.ts'

type Amount = typeof amountOf

/** Adds act, calibrate and token. */
export function addPeople(program: Command): void {
  addActs(program.command('act').description('tell the daemon what was done by hand'))
  addCalibrations(program.command('calibrate').description('tell the daemon what a probe or a pump was measured to do'))
  addLimits(program.command('limit').description('what may be delivered, and changes of it within the limits file'))
  addSpot(program)
  addTokens(program.command('token').description('who may ask the daemon for what'))
}

function addTokens(token: Command): void {
  const at = (name: string, description: string): Command =>
    token
      .command(name)
      .description(description)
      .option('--config <file>', 'site file')
      .option('--state-dir <folder>', 'where ledger and readings are kept')
      .option('--json', 'the answer for machines')
  at('create', 'a new token; its secret is shown this once')
    .requiredOption('--name <name>', 'whose it is')
    .requiredOption('--role <role>', 'viewer, grower or technician')
    .option('--days <number>', 'how long it is good for')
    .action(async (options) => (await import('./token.ts')).tokenCreate(options))
  at('list', 'every token there is').action(async (options) => (await import('./token.ts')).tokenList(options))
  at('revoke', 'a token is good for nothing from now on')
    .argument('<id>', 'as token list names it')
    .action(async (id, options) => (await import('./token.ts')).tokenRevoke(id, options))
}

type Done = (usage: string, description: string) => Command
type Tell = (name: string, fields: (amount: Amount) => ActFields, options: ActOptions) => Promise<void>

function addActs(acts: Command): void {
  const done = (usage: string, description: string): Command =>
    acts
      .command(usage)
      .description(description)
      .option('--at <time>', 'when it was done, ISO 8601 with offset; now where it is not said')
      .option('--by <name>', 'who did it, for the ledger')
      .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  const tell = async (name: string, fields: (amount: Amount) => ActFields, options: ActOptions): Promise<void> => {
    const { act, amount } = await import('./act.ts')
    return act(name, fields(amount), options)
  }
  done('salt-added <salt> <grams>', 'a salt was weighed in').action((salt, g, options) =>
    tell('salt-added', (amount) => ({ salt, massG: amount('grams', g) }), options),
  )
  done('drained <litres>', 'solution was let go').action((l, options) =>
    tell('drained', (amount) => ({ volumeL: amount('litres', l) }), options),
  )
  done('topped-up <litres>', 'source water was added by hand').action((l, options) =>
    tell('topped-up', (amount) => ({ volumeL: amount('litres', l) }), options),
  )
  done('stock-refilled <stock> <millilitres>', 'a bottle was filled; it holds this much now')
    .option('--batch <name>', 'name of the mixing')
    .action((stock, ml, options) =>
      tell(
        'stock-refilled',
        (amount) => ({ stock, volumeMl: amount('millilitres', ml), batch: options.batch }),
        options,
      ),
    )
  done('transplanted <crop> <plants> <cohort>', 'plants came into the channels').action((crop, n, cohort, options) =>
    tell('transplanted', (amount) => ({ crop, plants: amount('plants', n), cohort }), options),
  )
  addOtherActs(done, tell)
}

function addOtherActs(done: Done, tell: Tell): void {
  done('rinsed', 'the system was rinsed after sanitising').action((options) => tell('rinsed', () => ({}), options))
  done('probe-checked <probe>', 'a probe was checked in a known solution').action((probe, options) =>
    tell('probe-checked', () => ({ probe }), options),
  )
  done('noted <text>', 'a note on the crop, or on anything else').action((text, options) =>
    tell('noted', () => ({ text }), options),
  )
  done('changed <drained> <filled>', 'litres let go, and litres of source water in their place').action(
    (out, filled, options) =>
      tell('changed', (amount) => ({ drainedL: amount('drained', out), filledL: amount('filled', filled) }), options),
  )
  done('bottle-weighed <stock> <grams>', 'a bottle of stock on the scale, as it stands on its pump').action(
    (stock, g, options) => tell('bottle-weighed', (amount) => ({ stock, massG: amount('grams', g) }), options),
  )
  done('harvested <cohort>', 'plants left the channels').action((cohort, options) =>
    tell('harvested', () => ({ cohort }), options),
  )
}

/** Words on reports that are held, below `tarnward lab`. */
export function addReportWords(lab: Command): void {
  const word = (name: 'accept' | 'hold' | 'withdraw', description: string): Command =>
    lab
      .command(name)
      .description(description)
      .argument('<id>', 'as lab list names it')
      .requiredOption('--reason <text>', 'why, for the ledger')
      .option('--by <name>', 'who says so, for the ledger')
      .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  word('withdraw', 'take a report back').action(async (id, options) =>
    (await import('./lab-word.ts')).labWithdraw(id, options),
  )
  word('accept', 'accept a report that is held, having seen what it would do').action(async (id, options) =>
    (await import('./lab-word.ts')).labDecide(id, 'accept', options),
  )
  word('hold', 'leave a report held, with a reason').action(async (id, options) =>
    (await import('./lab-word.ts')).labDecide(id, 'hold', options),
  )
}

function addSpot(program: Command): void {
  program
    .command('spot')
    .description('a value read with a device in the hand')
    .argument('<quantity>', 'an element such as K or NO3-N in mg/L, conductivity in mS/cm, or ph')
    .argument('<value>', 'as the device showed it')
    .option('--sd <value>', 'its own uncertainty in the same unit')
    .option('--by <name>', 'who read it, for the ledger')
    .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
    .action(async (quantity, value, options) => (await import('./lab-word.ts')).spot(quantity, value, options))
}

function addCalibrations(calibrate: Command): void {
  const at = (usage: string, description: string): Command =>
    calibrate
      .command(usage)
      .description(description)
      .requiredOption('--reason <text>', 'why, for the ledger')
      .option('--by <name>', 'who says so, for the ledger')
      .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  at('probe <probe> <slope> <offset>', 'a reading counts as slope times what it shows, plus offset').action(
    async (probe, slope, offset, options) =>
      (await import('./instruct.ts')).instruct(
        { instruction: 'calibrate', probe, slope: Number(slope), offset: Number(offset) },
        options,
      ),
  )
  at('pump <stock> <rate>', 'mL/min, by cylinder or scale; water for an acid’s pump').action(
    async (stock, rate, options) => {
      const { amount } = await import('./act.ts')
      const { instruct } = await import('./instruct.ts')
      return instruct({ instruction: 'pump-rate', stock, rateMlPerMin: amount('rate', rate) }, options)
    },
  )
}

function addLimits(limit: Command): void {
  limit
    .command('list')
    .description('every limit in force, how far it may be moved, and who changed it last')
    .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
    .option('--json', 'one object for machines')
    .action(async (options) => (await import('./limit.ts')).limitList(options))
  limit
    .command('set')
    .description('change one limit, up to the ceiling of the limits file; it outlives a restart')
    .argument('<path>', 'as limit list names it')
    .argument('<value>', 'in the unit of the limit')
    .requiredOption('--reason <text>', 'why, for the ledger')
    .option('--by <name>', 'who says so, for the ledger')
    .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
    .action(async (path, value, options) => (await import('./limit.ts')).limitSet(path, value, options))
}
