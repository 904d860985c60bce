/** Limits in force: the list, and a change within the file’s ceilings. */

import type { DaemonView } from '../../daemon-view.ts'
import { ROUTES } from '../schema/index.ts'
import type { Answered, Serve } from '../serve.ts'
import type { Site } from '../site.ts'
import { limitsView } from '../view/limits.ts'
import { signed } from './person.ts'

export function serveLimits(serve: Serve, view: DaemonView, site: Site): void {
  serve(ROUTES.limits.list, () => ({ status: 200, json: limitsView(site.configuration, site.state()) }))
  serve(ROUTES.limits.change, async ({ caller, body }): Promise<Answered> => {
    const { limit, value, was, reason } = body
    const instruction = { instruction: 'limit', limit, value, ...(was === undefined ? {} : { was }) } as const
    const answer = await view.instruct(signed(caller, body.by), reason, instruction)
    const now = limitsView(site.configuration, site.state()).limits.find(({ path }) => path === limit)
    if (answer.kind === 'taken') {
      const text = `${limit} is ${now?.value} ${now?.unit ?? ''} now, and stays so over a restart.`
      return { status: 200, json: { taken: true, text: text.replace('  ', ' ') } }
    }
    if (answer.kind === 'not-kept') return { status: 503, refused: `The limit stands as it was: ${answer.why}.` }
    const isConflict = was !== undefined && now !== undefined && now.value !== was
    return { status: isConflict ? 409 : 422, refused: `The limit stands as it was: ${answer.why}.` }
  })
}
