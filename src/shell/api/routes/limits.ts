/** Limits in force: the list, and a change within the file’s ceilings. */

import { limitRefused } from '../../../reservoir/limit-change.ts'
import type { Clock } from '../../clock.ts'
import type { DaemonView } from '../../daemon-view.ts'
import { faultsOfLimits } from '../../limit-check.ts'
import { PREVIEW_MS, previewLimits } from '../../limits-preview.ts'
import { createSlices } from '../../slices.ts'
import { ROUTES } from '../schema/index.ts'
import type { Answered, Serve } from '../serve.ts'
import type { Site } from '../site.ts'
import { limitsView } from '../view/limits.ts'
import { signed } from './person.ts'

export function serveLimits(serve: Serve, view: DaemonView, site: Site, clock: Clock): void {
  servePreview(serve, site, clock)
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

/** One at a time: each reads weeks of the ledger. */
function servePreview(serve: Serve, site: Site, clock: Clock): void {
  let isBusy = false
  serve(ROUTES.limits.preview, async ({ body }): Promise<Answered> => {
    const refused = body.changes.flatMap(({ limit, value }) => {
      const why = limitRefused(site.settings, site.state().changedLimits, { instruction: 'limit', limit, value })
      return why === undefined ? [] : [why]
    })
    const values = Object.fromEntries(body.changes.map(({ limit, value }) => [limit, value]))
    const faults = refused.length > 0 ? refused : faultsOfLimits(site.configuration, site.state(), values)
    if (faults.length > 0) return { status: 422, refused: 'These limits could not be put in force.', errors: faults }
    const untilMs = body.to ?? site.nowMs()
    const fromMs = Math.max(body.from ?? untilMs - PREVIEW_MS, untilMs - MOST_MS)
    if (!(fromMs < untilMs)) return { status: 422, refused: 'The period ends before it begins.' }
    if (isBusy) return { status: 429, refused: 'Another preview is being worked out; ask again when it is done.' }
    isBusy = true
    try {
      const slices = createSlices(() => clock.monoMs())
      const how = { slices, isGateOnly: body.part === 'gate' }
      return { status: 200, json: await previewLimits(site, { fromMs, untilMs }, values, how) }
    } finally {
      isBusy = false
    }
  })
}

/** More than the kept readings would be long to wait for. */
const MOST_MS = 4 * PREVIEW_MS
