/** What may have gone wrong unseen, and what the site has taught. */

import type { Clock } from '../../clock.ts'
import { ROUTES } from '../schema/index.ts'
import type { Serve } from '../serve.ts'
import type { Site } from '../site.ts'
import { createDiagnosis } from '../view/diagnosis.ts'
import { learningView } from '../view/learning.ts'

export function serveDiagnosis(serve: Serve, site: Site, clock: Clock): void {
  const diagnosis = createDiagnosis(site, () => clock.monoMs())
  serve(ROUTES.diagnosis.diagnosis, async () => ({ status: 200, json: await diagnosis() }))
  serve(ROUTES.diagnosis.learning, async () => ({ status: 200, json: await learningView(site) }))
}
