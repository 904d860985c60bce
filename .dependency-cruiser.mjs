// The arrows of the house. Each room says which rooms, packages and parts of Node it may see; all else is refused.
// tests/house/arrows.test.ts plants a wrong import for every rule and expects it to be caught.

/** Rooms of src/, and the simulator beside them. A room may always see itself. */
const ROOMS = {
  contract: { sees: [], packages: ['zod'] },
  chemistry: { sees: [] },
  formulation: { sees: ['chemistry'], packages: ['quadprog', 'yaml'] },
  core: { sees: ['chemistry', 'contract', 'formulation'] },
  // The gate imports nothing of what it guards.
  safety: { sees: [] },
  reservoir: { sees: ['core', 'safety', 'contract', 'chemistry', 'config'] },
  config: { sees: ['chemistry', 'contract'], packages: ['mathjs', 'yaml', 'zod'], node: true },
  ledger: { sees: ['contract'], packages: ['better-sqlite3'], node: true },
  shell: {
    sees: ['contract', 'chemistry', 'formulation', 'core', 'safety', 'reservoir', 'config', 'ledger'],
    packages: ['aedes', 'fastify', 'mqtt', 'pino', 'prom-client', 'serialport', 'zod'],
    node: true,
  },
  // Of Node it uses worker threads: a campaign runs on every core.
  trial: {
    sees: [
      ...['contract', 'chemistry', 'formulation', 'core', 'reservoir', 'config', 'simulator'],
      'ledger/worker-start[.]ts$',
    ],
    node: true,
  },
  cli: {
    sees: [
      ...['contract', 'chemistry', 'formulation', 'core', 'safety', 'reservoir', 'config', 'ledger', 'shell'],
      ...['trial', 'simulator'],
    ],
    packages: ['commander', 'zod'],
    node: true,
  },
  // Runs in a browser: of the daemon it knows the shape of the answers alone.
  page: { sees: ['shell/api/schema'], packages: ['preact', 'uplot'] },
  // A second opinion on the world: it shares the contract and molar masses, never a model.
  simulator: {
    sees: ['contract', 'chemistry/(element|molar-mass)[.]ts$'],
    packages: ['mqtt', 'serialport', 'yaml', 'zod'],
    node: true,
  },
}

/** What the reservoir may take from configuration at run time; its types are free. */
const CONFIG_AT_RUN_TIME = '^src/config/(configuration-hash|salt-entry|load-configuration|limit-path)[.]ts$'

const pathOf = (room) => {
  if (room === 'simulator') return '^simulator/'
  return room.endsWith('$') ? `^src/${room}` : `^src/${room}/`
}
const packagePath = (name) => `(^|/)node_modules/${name}/`

const roomRules = Object.entries(ROOMS).flatMap(([room, { sees, packages = [], node = false }]) => [
  {
    name: `${room}-sees`,
    comment: `${room} may see ${sees.join(', ') || 'nothing'} beside itself`,
    severity: 'error',
    from: { path: pathOf(room) },
    to: {
      path: '^(src|simulator|tests)/',
      pathNot: [pathOf(room), ...sees.map(pathOf)],
    },
  },
  {
    name: `${room}-packages`,
    comment: `${room} may use the packages ${packages.join(', ') || '(none)'}${node ? ' and Node' : ''}`,
    severity: 'error',
    from: { path: pathOf(room) },
    to: {
      dependencyTypesNot: ['local', 'localmodule', 'aliased', 'unknown', ...(node ? ['core'] : [])],
      ...(packages.length > 0 ? { pathNot: [...packages.map(packagePath), '^(src|simulator|tests)/'] } : {}),
    },
  },
])

export default {
  forbidden: [
    ...roomRules,
    {
      name: 'reservoir-config-types-only',
      comment: 'the loop gets a parsed configuration; it never parses one itself, beyond what its face offers again',
      severity: 'error',
      from: { path: '^src/reservoir/' },
      to: { path: '^src/config/', pathNot: CONFIG_AT_RUN_TIME, dependencyTypesNot: ['type-only'] },
    },
    {
      name: 'no-cycles',
      comment:
        'two files that need each other are one file, or lack a third; types alone, and what is loaded only when asked for, may point back',
      severity: 'error',
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only', 'dynamic-import'] } },
    },
    {
      name: 'no-missing',
      comment: 'an import that leads nowhere',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true },
    },
    {
      name: 'no-development-packages',
      comment: 'what is shipped runs on dependencies alone; the page is shipped as a bundle',
      severity: 'error',
      from: { path: '^(src|simulator)/', pathNot: '^src/page/' },
      to: { dependencyTypes: ['npm-dev'] },
    },
    {
      name: 'tests-stay-outside',
      comment: 'nothing shipped depends on a test',
      severity: 'error',
      from: { path: '^(src|simulator)/' },
      to: { path: '^tests/' },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsConfig: { fileName: 'tsconfig.json' },
    tsPreCompilationDeps: true,
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['import', 'node', 'default'],
      extensions: ['.ts', '.js', '.json'],
    },
  },
}
