/** For machines that watch the machine, and the short views that `tarnward status` reads. */

import type { DaemonView } from '../../daemon-view.ts'
import { createMetrics } from '../../metrics.ts'
import { ROUTES } from '../schema/index.ts'
import type { Serve } from '../serve.ts'

const EVENTS_SHOWN = 50

export function serveHealth(serve: Serve, view: DaemonView): void {
  const metrics = createMetrics(view)
  serve(ROUTES.health.alive, () => {
    const alive = view.alive()
    return { status: alive ? 200 : 503, json: { alive } }
  })
  serve(ROUTES.health.ready, () => {
    const checks = view.readiness()
    const ready = checks.every((check) => check.ok)
    return { status: ready ? 200 : 503, json: { ready, checks } }
  })
  serve(ROUTES.health.metrics, async ({ reply }) => reply.type(metrics.contentType).send(await metrics.render()))
  serve(ROUTES.status.status, () => ({
    status: 200,
    json: { ...view.status(), events: view.recentEvents(EVENTS_SHOWN) },
  }))
  serve(ROUTES.status.estimate, () => {
    const estimate = view.estimate()
    return estimate === undefined
      ? { status: 503, refused: 'No estimate yet: it needs the first fused readings.' }
      : { status: 200, json: estimate }
  })
}
