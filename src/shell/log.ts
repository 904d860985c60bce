import { type DestinationStream, type Logger, pino, destination as pinoDestination, stdTimeFunctions } from 'pino'

export type { Logger }

export interface LogOptions {
  readonly level?: 'debug' | 'info' | 'warn' | 'error'
  /** lines for people; decided by whether stdout is a terminal where not asked */
  readonly pretty?: boolean
  /** where lines go; stdout where not given */
  readonly destination?: DestinationStream
}

/** Anything that opens a door, wherever in a line it stands (two levels are all that our lines have). */
const SECRETS = ['password', 'token', 'secret', 'authorization', 'cookie', 'credentials.password']
const REDACTED = SECRETS.flatMap((name) => [name, `*.${name}`, `*.*.${name}`])

/**
 * The daemon’s log: one JSON object a line with level as a word and time as ISO 8601 UTC, for journald and its like;
 * or lines for people. Written before the call returns, so that the last line before a crash is there.
 */
export function createLog(options: LogOptions = {}): Logger {
  const raw = options.destination ?? pinoDestination({ dest: 1, sync: true })
  const pretty = options.pretty ?? process.stdout.isTTY === true
  return pino(
    {
      level: options.level ?? 'info',
      base: null,
      timestamp: stdTimeFunctions.isoTime,
      formatters: { level: (label) => ({ level: label }) },
      redact: { paths: REDACTED, censor: '[hidden]' },
    },
    pretty ? { write: (line) => raw.write(formatLine(line)) } : raw,
  )
}

/** A log whose lines carry the part of the program they come from. */
export function componentLog(log: Logger, component: string): Logger {
  return log.child({ component })
}

/** A JSON line as one for people: `14:32:07 warn  mqtt  text  key=value`; a line that is no JSON stays as it is. */
export function formatLine(line: string): string {
  let fields: Record<string, unknown>
  try {
    fields = JSON.parse(line) as Record<string, unknown>
  } catch {
    return line
  }
  const { time, level, component, msg, err, ...rest } = fields
  const more = Object.entries(rest).map(([key, value]) => `${key}=${shortText(value)}`)
  const head = [
    String(time ?? '').slice(11, 19),
    String(level ?? '').padEnd(5),
    String(component ?? '').padEnd(8),
    String(msg ?? ''),
  ]
  const stack = typeof err === 'object' && err !== null && 'stack' in err ? `\n${String(err.stack)}` : ''
  return `${[...head, ...more].join(' ').trimEnd()}${stack}\n`
}

function shortText(value: unknown): string {
  if (typeof value === 'string') return /[\s"=]/.test(value) ? JSON.stringify(value) : value
  return JSON.stringify(value) ?? ''
}
