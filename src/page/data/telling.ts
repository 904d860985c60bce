import { useRef, useState } from 'preact/hooks'
import { reasonsOf } from './problem.ts'
import { newKey, tell } from './request.ts'

export interface Telling<Answer> {
  readonly isBusy: boolean
  readonly failure: readonly string[]
  /** the daemon’s answer to the last thing told, null before */
  readonly answer: Answer | null
  /** resolves to the answer, or to null where it was refused; then `failure` says why */
  readonly run: (path: string, body: unknown, patienceMs?: number) => Promise<Answer | null>
  readonly clear: () => void
}

interface TellingWish {
  /** what was answered before stays in sight beside a refusal: a person must still see what to mend */
  readonly keepsAnswer?: boolean
}

type State<Answer> = Pick<Telling<Answer>, 'isBusy' | 'failure' | 'answer'>

/** One form’s way to tell the daemon something; trying the same thing again after a lost answer is never a second act. */
export function useTelling<Answer>({ keepsAnswer = false }: TellingWish = {}): Telling<Answer> {
  const [state, setState] = useState<State<Answer>>(IDLE)
  const open = useRef<{ readonly what: string; readonly key: string } | null>(null)
  const told = useRef(0)
  const run = async (path: string, body: unknown, patienceMs?: number): Promise<Answer | null> => {
    told.current += 1
    const turn = told.current
    // what was told since asks for another answer: this one would be shown beside fields it does not belong to
    const show = (next: (old: State<Answer>) => State<Answer>) => turn === told.current && setState(next)
    const what = `${path} ${JSON.stringify(body)}`
    if (open.current?.what !== what) open.current = { what, key: newKey() }
    setState((old) => ({ ...old, isBusy: true }))
    try {
      const answer = await tell<Answer>(path, body, open.current.key, patienceMs)
      if (turn === told.current) open.current = null
      show(() => ({ isBusy: false, failure: [], answer }))
      return answer
    } catch (failure) {
      show((old) => ({ isBusy: false, failure: reasonsOf(failure), answer: keepsAnswer ? old.answer : null }))
      return null
    }
  }
  return { ...state, run, clear: () => setState(IDLE) }
}

const IDLE = { isBusy: false, failure: [], answer: null }
