#!/usr/bin/env node
/** The command line’s front door: wiring only. Bodies are loaded when they are asked for. */

import { Command, CommanderError } from 'commander'
import packageJson from '../package.json' with { type: 'json' }
import { CommandFailure, EXIT_CODES } from './cli/command-failure.ts'
import { addPeople, addReportWords } from './cli/people-commands.ts'

const program = new Command('tarnward')
  .description('Keeps the nutrient solution of a recirculating hydroponic reservoir right while nobody is in the room.')
  .version(packageJson.version)
  .exitOverride()

program
  .command('run')
  .description('keep a reservoir: read its nodes, estimate every element, dose within the limits')
  .option('--config <file>', 'site file')
  .option('--demo', 'an embedded broker and a simulated bench; needs no hardware')
  .option('--for <time>', 'end by itself after this wall time, e.g. 60s or 5m, with a summary')
  .option('--state-dir <folder>', 'where ledger and readings are kept')
  .option('--port <number>', 'port of the page', '8420')
  .option('--listen <address>', 'let other machines in at this address; needs a token to be there')
  .option('--host-name <name>', 'a name under which the page may be asked for; may be repeated', repeated, [])
  .option('--scale <factor>', 'demo: how many times as fast as the clock on the wall', '60')
  .option('--days <number>', 'demo: days lived in a moment before the page opens', '14')
  .option('--seed <number>', 'demo: which bench', '1')
  .option('--json-log', 'log lines as JSON even on a terminal')
  .action(async (options) => (await import('./cli/run.ts')).run(options, packageJson.version))

program
  .command('init')
  .description('a checked site file and its limits, from a few questions; by flags or a file for scripts')
  .option('--out <folder>', 'where the files go; none is written over', '.')
  .option('--answers <file>', 'answers as JSON, by the names of these options')
  .option('--name <id>', 'name of the site')
  .option('--zone <zone>', 'time zone, e.g. Europe/Lisbon')
  .option('--volume <L>', 'water with everything that returns to it')
  .option('--circulation <L/min>', 'how fast it goes round')
  .option('--level <answer>', 'level probe: yes, or why there is none')
  .option('--meter <answer>', 'meter of the make-up water: yes, or why there is none')
  .option('--flow <answer>', 'flow probe: yes, or why there is none')
  .option('--stock <stock>', 'e.g. "calcium, calcium, calcium nitrate tetrahydrate 100"; may be repeated', repeated, [])
  .option('--bottle <L>', 'what each bottle holds')
  .option('--acid <acid>', 'e.g. "nitric acid 1" in eq/L, or none')
  .option('--crop <name>', 'crop of the crops file')
  .option('--plants <number>', 'plants in the channels')
  .option('--transplanted <day>', 'when they came into the channels')
  .option('--water <water>', 'a name such as reverse-osmosis, or its laboratory’s file')
  .action(async (options) => (await import('./cli/init.ts')).init(options))

program
  .command('simulate')
  .description('a controller on a simulated plant, scored by the hour')
  .option('--scenario <file>', 'scenario file, e.g. config/scenarios/light.yaml')
  .option('--days <number>', 'days to live', '56')
  .option('--seed <number>', 'first seed', '1')
  .option('--seeds <number>', 'how many seeds', '1')
  .option('--controller <name>', 'tarnward, ec-only, ec-only-with-dump or ideal', 'tarnward')
  .option('--baselines', 'the other controllers on the same seeds beside it: water, salt, discharge, time in band')
  .option('--workers <number>', 'worker threads; as many as there are cores where nothing is said')
  .option('--shard <i/n>', 'only the i-th of n parts of the seeds, as an object to be merged')
  .option('--merge <files...>', 'the report of all shards of a campaign, instead of running one')
  .option('--json', 'one object for machines')
  .action(async (options) => (await import('./cli/simulate.ts')).simulate(options))

program
  .command('replay')
  .description('a ledger run again: where estimate and reports disagreed, and whether the same verdicts come out')
  .argument('<ledger>', 'ledger.db of a state folder')
  .requiredOption('--site <file>', 'the site file it was kept under')
  .option('--limits <file>', 'what the gate would have done by these limits')
  .option('--json', 'one object for machines')
  .action(async (ledger, options) => (await import('./cli/replay.ts')).replay(ledger, options))

program
  .command('report')
  .description('a period as one HTML file: bands, doses, water, salts, alarms, laboratory, who did what and why')
  .requiredOption('--from <day>', 'a day such as 2026-03-02, or a time with offset')
  .option('--to <day>', 'the same; now where it is not said')
  .requiredOption('--out <file>', 'the file to write; one that is there is left alone')
  .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  .option('--config <file>', 'site file, whose ledger is read while no daemon runs')
  .option('--state-dir <folder>', 'where that ledger is kept')
  .action(async (options) => (await import('./cli/report.ts')).report(options, packageJson.version))

program
  .command('backup')
  .description('copy the ledger, also beside a running daemon, and check the copy')
  .argument('<file>', 'the copy; one that is there is left alone')
  .option('--config <file>', 'site file, whose usual state folder is meant')
  .option('--state-dir <folder>', 'where the ledger is kept')
  .action(async (file, options) => (await import('./cli/backup.ts')).backup(file, options))

program
  .command('restore')
  .description('put a backup in the place of the ledger; the daemon must have stopped')
  .argument('<file>', 'as backup made it')
  .option('--config <file>', 'site file, whose usual state folder is meant')
  .option('--state-dir <folder>', 'where the ledger is kept')
  .action(async (file, options) => (await import('./cli/restore.ts')).restore(file, options))

program
  .command('ledger')
  .description('the record of everything')
  .command('verify')
  .description('check every entry against the chain of hashes')
  .option('--config <file>', 'site file, whose usual state folder is meant')
  .option('--state-dir <folder>', 'where the ledger is kept')
  .option('--json', 'one object for machines')
  .action(async (options) => (await import('./cli/ledger-verify.ts')).ledgerVerify(options))

const lab = program.command('lab').description('laboratory reports')
lab
  .command('add')
  .description('give a laboratory’s file to the running daemon')
  .argument('<file>', 'CSV or JSON, as the laboratory sent it')
  .requiredOption('--sampled-at <time>', 'when the bottle was filled, ISO 8601 with offset, e.g. 2026-03-16T08:30:00Z')
  .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  .option('--sample <label>', 'which bottle, where the report holds several')
  .option('--map <file>', 'what this laboratory’s own words mean (YAML)')
  .option('--accept', 'take it in spite of the doubts that held it')
  .option('--json', 'the answer for machines')
  .action(async (file, options) => (await import('./cli/lab-add.ts')).labAdd(file, options))

lab
  .command('list')
  .description('reports given, each with what was believed of its bottle')
  .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  .option('--json', 'one object for machines')
  .action(async (options) => (await import('./cli/lab-list.ts')).labList(options))
addReportWords(lab)

program
  .command('status')
  .description('what the running daemon believes and will do next')
  .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  .option('--json', 'one object for machines')
  .action(async (options) => (await import('./cli/status.ts')).status(options))

program
  .command('diagnose')
  .description('what may have gone wrong unseen over the last days, likeliest first, and how to find out')
  .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  .option('--json', 'one object for machines')
  .action(async (options) => (await import('./cli/diagnose.ts')).diagnose(options))

program
  .command('node')
  .description('pump nodes')
  .command('contract')
  .description('print the device contract and the daemon’s own topics as an AsyncAPI 3.0 document')
  .action(async () => (await import('./cli/node-contract.ts')).nodeContract(packageJson.version))

person('hold', 'stop all dosing until somebody releases it', 'held by a person').action(async (options) =>
  (await import('./cli/instruct.ts')).instruct({ instruction: 'hold' }, options),
)
person('release', 'let dosing go on after a hold').action(async (options) =>
  (await import('./cli/instruct.ts')).instruct({ instruction: 'release' }, options),
)
person('reset', 'reset an interlock that tripped, once its cause is gone')
  .argument('<trip>', 'as status names it')
  .action(async (trip, options) =>
    (await import('./cli/instruct.ts')).instruct({ instruction: 'reset', trip }, options),
  )
person('acknowledge', 'say that an alarm has been seen', 'seen')
  .argument('<alarm>', 'as status names it')
  .action(async (alarm, options) =>
    (await import('./cli/instruct.ts')).instruct({ instruction: 'acknowledge', alarm }, options),
  )

person('shelve', 'put an alarm aside for a while, an urgent one for an hour at most, others for a day')
  .argument('<alarm>', 'as status names it')
  .requiredOption('--for <time>', 'e.g. 30m or 2h')
  .action(async (alarm, options) => (await import('./cli/shelve.ts')).shelve(alarm, options))
person('unshelve', 'take an alarm from the shelf before its time', 'taken up again')
  .argument('<alarm>', 'as status names it')
  .action(async (alarm, options) =>
    (await import('./cli/instruct.ts')).instruct({ instruction: 'unshelve', alarm }, options),
  )
person('approve', 'approve a plan, in the mode advise', 'approved')
  .argument('<plan>', 'as status names it')
  .action(async (planId, options) =>
    (await import('./cli/instruct.ts')).instruct({ instruction: 'approve', planId }, options),
  )
person('mode', 'watch only, propose, or act')
  .argument('<mode>', 'observe, advise or automatic')
  .action(async (name, options) => {
    const { instruct, modeNamed } = await import('./cli/instruct.ts')
    return instruct(modeNamed(name), options)
  })
person(
  'sanitise',
  'lock every dose while the system is sanitised; after its end it waits for a rinse and a probe check',
)
  .argument('<phase>', 'begin or end')
  .action(async (phase, options) => {
    const { instruct, phaseNamed } = await import('./cli/instruct.ts')
    return instruct(phaseNamed(phase), options)
  })
person(
  'ration',
  'what may go on by the make-up meter alone while a probe is lost: approve it beforehand, or withdraw it',
)
  .argument('<decision>', 'approve or withdraw')
  .action(async (decision, options) => {
    const { instruct, rationNamed } = await import('./cli/instruct.ts')
    return instruct(rationNamed(decision), options)
  })
addPeople(program)

program
  .command('water')
  .description('may this source water be used for this crop, and what has to be done to it')
  .argument('[file]', 'a laboratory’s report (CSV or JSON), or a name such as reverse-osmosis')
  .option('--crop <name>', 'crop of the crops file', 'butterhead-lettuce')
  .option('--crops <file>', 'crops file, instead of the package’s own')
  .option('--sample <label>', 'which bottle, where the report holds several')
  .option('--ec <value>', 'conductivity from a meter of your own, e.g. "0.6 mS/cm" or "300 ppm (500)"')
  .option('--fluoride <value>', 'e.g. "0.8 mg/L"')
  .option('--chlorine <value>', 'free chlorine, e.g. "1 mg/L"')
  .option('--chloramine <value>', 'e.g. "2 mg/L"')
  .option('--json', 'one object for machines')
  .option('--json-schema', 'the schema of that object')
  .action(async (file, options) => (await import('./cli/water.ts')).water(file, options))

program
  .command('recipe')
  .description('which salts, and how much of each, for a crop, a water and a volume')
  .option('--crop <name>', 'crop of the crops file', 'butterhead-lettuce')
  .option('--crops <file>', 'crops file, instead of the package’s own')
  .option('--stage <name>', 'seedling (half strength), young (three quarters) or full', 'full')
  .option('--water <file>', 'a laboratory’s report, or a name such as reverse-osmosis', 'reverse-osmosis')
  .option('--sample <label>', 'which bottle, where the report holds several')
  .option('--volume <volume>', 'e.g. 220L or 58gal', '1000L')
  .option('--shelf <file>', 'salts file with what is on the shelf, or all', 'all')
  .option('--only <names>', 'of the shelf only these, with commas between')
  .option('--pin <salt=amount>', 'fix a salt by hand, e.g. "calcium nitrate=0.9 g/L"; may be repeated', repeated, [])
  .option(
    '--band <element=edges>',
    'another band in mg/L, e.g. "Na=0..60" or "K=150..180..250"; may be repeated',
    repeated,
    [],
  )
  .option('--acid <name>', 'acid and strength, e.g. "nitric acid 60 %", or fixed: "nitric acid 60 %=0.3 mL/L"')
  .option('--ph <number>', 'pH to acidify to, instead of the crop’s aim')
  .option('--ammonium <percent>', 'most of the nitrogen brought that may be ammonium', '15')
  .option('--scale <step>', 'smallest step of the scale, e.g. 0.1g; shows the effect of rounding')
  .option('--unit <unit>', 'unit of the amounts, e.g. g/L, g, oz/100gal, lb/100gal', 'g/L')
  .option('--element-unit <unit>', 'mg/L, mmol/L or meq/L', 'mg/L')
  .option('--stocks <tanks>', 'as stock tanks with a card to mix each by, e.g. A:100x,B:100x or with acid:100x')
  .option('--tank <volume>', 'of each stock tank', '20L')
  .option('--coldest <temperature>', 'that the tanks get, e.g. 10C', '10C')
  .option('--in <salt=tank>', 'put a salt into this tank; may be repeated', repeated, [])
  .option('--measured <tank=EC>', 'what 10 mL of a tank in 1 L showed, mS/cm; may be repeated', repeated, [])
  .option('--acid-strength <eq/L>', 'of the diluted acid; 1 where nothing else is said')
  .option('--strong-acid', 'allow an acid tank of more than 2 eq/L')
  .option('--json', 'one object for machines')
  .option('--json-schema', 'the schema of that object')
  .action(async (options) =>
    options.stocks === undefined
      ? (await import('./cli/recipe.ts')).recipe(options)
      : (await import('./cli/stocks.ts')).stocks(options),
  )

program
  .command('amend')
  .description('from a used reservoir’s laboratory report to what must be weighed in, renewed or thrown away')
  .option('--lab <file>', 'the laboratory’s report of the used reservoir, CSV or JSON')
  .option('--volume <volume>', 'of the reservoir with all that returns to it, e.g. 220L')
  .option('--crop <name>', 'crop whose bands hold', 'butterhead-lettuce')
  .option('--crops <file>', 'another crops file')
  .option('--sample <label>', 'which bottle of the report')
  .option('--water <name or file>', 'new water: a name such as reverse-osmosis, or its own report')
  .option('--acid <name>', 'that new water is brought to pH with: nitric, phosphoric or sulfuric', 'nitric')
  .option('--shelf <file>', 'salts at hand, as a salts file; all for every salt the house knows')
  .option('--only <names>', 'of the shelf only these, with commas between')
  .option('--stocks <site file>', 'mL of this site’s stocks instead of grams of salts; its source water too')
  .option('--step <amount>', 'least step of the scale in g, or of the measure in mL', '0.01')
  .option('--ammonium-share <share>', 'of the nitrogen brought that may be ammonium', '0.15')
  .option('--accept', 'go on in spite of charges that do not add up')
  .option('--json', 'one object for machines')
  .option('--json-schema', 'print the schema of --json and end')
  .action(async (options) => (await import('./cli/amend.ts')).amend(options))

try {
  await program.parseAsync()
} catch (error) {
  process.exitCode = exitCodeOf(error)
}

/** A command by which somebody says something to the running daemon; without a usual reason it asks for one. */
function person(name: string, description: string, usualReason?: string): Command {
  const command = program
    .command(name)
    .description(description)
    .option('--by <name>', 'who says so, for the ledger')
    .option('--url <url>', 'the daemon’s page', 'http://127.0.0.1:8420')
  return usualReason === undefined
    ? command.requiredOption('--reason <text>', 'why, for the ledger')
    : command.option('--reason <text>', 'why, for the ledger', usualReason)
}

function repeated(value: string, earlier: readonly string[]): readonly string[] {
  return [...earlier, value]
}

function exitCodeOf(error: unknown): number {
  if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : EXIT_CODES.usage
  if (error instanceof CommandFailure) {
    process.stderr.write(`${error.message}\n`)
    return EXIT_CODES[error.kind]
  }
  process.stderr.write(
    `Tarnward has met a fault of its own and stops: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
  )
  return EXIT_CODES.fault
}
