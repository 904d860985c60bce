/**
 * Notices to people by webhook: one queue a person, so that a server that hangs keeps nobody else waiting. Tried again
 * with growing pauses until it is taken or too old to matter. Never waits for an answer inside the loop.
 */

import { createHmac } from 'node:crypto'
import type { Notice } from '../core/alarm/escalation.ts'
import { createBackoff } from './backoff.ts'
import type { Clock } from './clock.ts'
import type { Logger } from './log.ts'
import { noticeMessage } from './notice-message.ts'

export interface Recipient {
  readonly name: string
  readonly webhook: string
  /** signs each message */
  readonly secret?: string
}

export interface NotifierOptions {
  readonly site: string
  readonly people: readonly Recipient[]
  readonly clock: Clock
  readonly log: Logger
  /** first and longest pause between tries, and how long one try may last, ms */
  readonly retryFirstMs?: number
  readonly retryMostMs?: number
  readonly timeoutMs?: number
}

export interface Notifier {
  /** Puts a notice into the queue of everybody it is for; returns at once. */
  notify(notice: Notice): void
  stop(): Promise<void>
}

/** A day of a plant with everything wrong at once; beyond it the oldest goes, the newest says how things are. Chosen. */
const QUEUE_MAX = 100
/** Yesterday’s alarm helps nobody; what still stands is told again by then. Chosen. */
const TOO_OLD_MS = 24 * 3_600_000
const RETRY_FIRST_MS = 1000
const RETRY_MOST_MS = 5 * 60_000
const TIMEOUT_MS = 10_000

/** A notifier for the people of a site. */
export function createNotifier(options: NotifierOptions): Notifier {
  const posts = new Map(options.people.map((person) => [person.name, new Post(options, person)]))
  return {
    notify: (notice) => {
      for (const name of notice.to) posts.get(name)?.add(notice)
    },
    stop: async () => {
      await Promise.all([...posts.values()].map((post) => post.stop()))
    },
  }
}

class Post {
  readonly #options: NotifierOptions
  readonly #person: Recipient
  readonly #stopping = new AbortController()
  #waiting: Notice[] = []
  #working: Promise<void> | undefined

  constructor(options: NotifierOptions, person: Recipient) {
    this.#options = options
    this.#person = person
  }

  add(notice: Notice): void {
    if (this.#stopping.signal.aborted) return
    if (this.#waiting.some(({ id }) => id === notice.id)) return
    this.#waiting.push(notice)
    if (this.#waiting.length > QUEUE_MAX) {
      // the first may be under way; the next oldest goes
      this.#waiting.splice(1, 1)
      this.#say('too many messages wait; the oldest was dropped')
    }
    this.#working ??= this.#work().finally(() => {
      this.#working = undefined
    })
  }

  async stop(): Promise<void> {
    this.#stopping.abort()
    await this.#working
  }

  async #work(): Promise<void> {
    const { clock, retryFirstMs = RETRY_FIRST_MS, retryMostMs = RETRY_MOST_MS } = this.#options
    const backoff = createBackoff(retryFirstMs, retryMostMs)
    for (let notice = this.#waiting[0]; notice && !this.#stopping.signal.aborted; notice = this.#waiting[0]) {
      const isTooOld = clock.wallMs() - notice.atMs > TOO_OLD_MS
      const why = isTooOld ? undefined : await this.#send(notice)
      if (this.#stopping.signal.aborted) return
      if (why === undefined) {
        if (isTooOld) this.#say(`${notice.alarm} could not be told for a day and is given up`)
        this.#waiting = this.#waiting.filter((other) => other !== notice)
        backoff.reset()
        continue
      }
      this.#say(`${notice.alarm} ${notice.kind} was not taken (${why}); it is tried again`)
      await this.#pause(backoff.nextMs())
    }
  }

  /** Undefined where it was taken; else why not, without a word of the address, which may hold a secret. */
  async #send(notice: Notice): Promise<string | undefined> {
    const { webhook, secret } = this.#person
    const body = JSON.stringify(noticeMessage(this.#options.site, notice))
    try {
      const answer = await fetch(webhook, {
        method: 'POST',
        body,
        redirect: 'error',
        headers: {
          'content-type': 'application/json',
          'idempotency-key': notice.id,
          ...(secret === undefined ? {} : { 'tarnward-signature': `sha256=${signature(secret, body)}` }),
        },
        signal: AbortSignal.any([this.#stopping.signal, AbortSignal.timeout(this.#options.timeoutMs ?? TIMEOUT_MS)]),
      })
      await answer.body?.cancel()
      return answer.ok ? undefined : `answer ${answer.status}`
    } catch (error) {
      return error instanceof Error && error.name === 'TimeoutError' ? 'no answer in time' : 'no connection'
    }
  }

  #pause(ms: number): Promise<void> {
    const { clock } = this.#options
    return new Promise((resolve) => {
      const cancel = clock.setTimer(ms, done)
      const { signal } = this.#stopping
      signal.addEventListener('abort', done, { once: true })
      function done(): void {
        cancel()
        signal.removeEventListener('abort', done)
        resolve()
      }
    })
  }

  #say(text: string): void {
    this.#options.log.warn({ person: this.#person.name }, text)
  }
}

/** HMAC-SHA-256 of the body, in hex (RFC 2104). */
export function signature(secret: string, body: string): string {
  return createHmac('sha256', secret).update(body).digest('hex')
}
