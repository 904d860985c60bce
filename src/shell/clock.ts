/**
 * Time as the shell knows it. This is the only place that asks the machine; everything else is given a Clock,
 * and everything inside is given the moment of its input.
 */

export type Cancel = () => void

export interface Clock {
  /** epoch milliseconds UTC, whole; may step when somebody sets the machine’s clock */
  wallMs(): number
  /** milliseconds since some moment; never steps and never decreases */
  monoMs(): number
  /** calls once after `ms` of this clock, never at once; for any length */
  setTimer(ms: number, fn: () => void): Cancel
}

/** Node takes a longer delay for 1 ms (2^31 − 1, https://nodejs.org/api/timers.html). */
const TIMEOUT_MAX_MS = 2_147_483_647

/** The machine’s own clocks. */
export function createRealClock(): Clock {
  return { wallMs: () => Date.now(), monoMs: () => performance.now(), setTimer: setLongTimer }
}

/**
 * A clock that runs `factor` times as fast from `startWallMs` on, for demonstrations. Its wall never steps.
 * @throws RangeError for a factor that is no positive number
 */
export function createScaledClock(factor: number, startWallMs: number): Clock {
  if (!(factor > 0 && Number.isFinite(factor))) throw new RangeError(`clock factor ${factor}: a positive number`)
  const startMs = performance.now()
  const monoMs = () => (performance.now() - startMs) * factor
  return {
    wallMs: () => Math.floor(startWallMs + monoMs()),
    monoMs,
    setTimer: (ms, fn) => setLongTimer(ms / factor, fn),
  }
}

export interface LockstepClock extends Clock {
  /** moves time on and calls every timer that falls due, each at its own moment, also those set meanwhile */
  advance(ms: number): void
  /** time until the next timer, or undefined where none is set */
  nextTimerInMs(): number | undefined
  /** steps the wall alone, as when somebody sets the machine’s clock */
  stepWall(ms: number): void
}

interface Due {
  readonly atMs: number
  readonly order: number
  readonly fn: () => void
}

/** A clock that stands still until it is moved, for tests and for driving a simulator in lockstep. */
export function createLockstepClock(startWallMs: number): LockstepClock {
  const due = new Set<Due>()
  let monoMs = 0
  let wallOffsetMs = startWallMs
  let order = 0
  const next = () => [...due].sort((a, b) => a.atMs - b.atMs || a.order - b.order)[0]

  function advance(ms: number): void {
    const endMs = monoMs + ms
    for (let timer = next(); timer !== undefined && timer.atMs <= endMs; timer = next()) {
      monoMs = timer.atMs
      due.delete(timer)
      timer.fn()
    }
    monoMs = endMs
  }

  return {
    wallMs: () => Math.floor(wallOffsetMs + monoMs),
    monoMs: () => monoMs,
    setTimer: (ms, fn) => {
      const timer: Due = { atMs: monoMs + Math.max(ms, 0), order: order++, fn }
      due.add(timer)
      return () => due.delete(timer)
    },
    advance,
    nextTimerInMs: () => {
      const timer = next()
      return timer && timer.atMs - monoMs
    },
    stepWall: (ms) => {
      wallOffsetMs += ms
    },
  }
}

/** Calls `fn` every `everyMs` of a clock, the first time after one period, until it is cancelled. */
export function repeat(clock: Clock, everyMs: number, fn: () => void): Cancel {
  let cancel: Cancel = clock.setTimer(everyMs, again)
  function again(): void {
    cancel = clock.setTimer(everyMs, again)
    fn()
  }
  return () => cancel()
}

/** An ISO 8601 time with its offset as epoch milliseconds; NaN for what is none. */
export function parseInstant(text: string): number {
  return Date.parse(text)
}

function setLongTimer(ms: number, fn: () => void): Cancel {
  const endMs = performance.now() + ms
  let timer: NodeJS.Timeout
  function arm(): void {
    const leftMs = endMs - performance.now()
    timer = leftMs > TIMEOUT_MAX_MS ? setTimeout(arm, TIMEOUT_MAX_MS) : setTimeout(fn, Math.max(leftMs, 1))
  }
  arm()
  return () => clearTimeout(timer)
}
