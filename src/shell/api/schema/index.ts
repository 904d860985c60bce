/** Every route there is. The server refuses to have one that is not here, and the document is made of these. */

import { actRoutes } from './act.ts'
import { alarmRoutes } from './alarm.ts'
import { commissioningRoutes } from './commissioning.ts'
import { deskRoutes } from './desk.ts'
import { diagnosisRoutes } from './diagnosis.ts'
import { doseRoutes } from './dose.ts'
import { eventRoutes } from './event.ts'
import { healthRoutes } from './health.ts'
import { historyRoutes } from './history.ts'
import { instructionRoutes } from './instruction.ts'
import { laboratoryRoutes } from './laboratory.ts'
import { limitsRoutes } from './limits.ts'
import { reportRoutes } from './report.ts'
import type { Route } from './route.ts'
import { statusRoutes } from './status.ts'
import { tokenRoutes } from './token.ts'

export const ROUTES = {
  health: healthRoutes,
  status: statusRoutes,
  history: historyRoutes,
  laboratory: laboratoryRoutes,
  limits: limitsRoutes,
  dose: doseRoutes,
  act: actRoutes,
  instruction: instructionRoutes,
  alarm: alarmRoutes,
  commissioning: commissioningRoutes,
  desk: deskRoutes,
  diagnosis: diagnosisRoutes,
  report: reportRoutes,
  event: eventRoutes,
  token: tokenRoutes,
} as const

/** All of them in one list. */
export const ALL_ROUTES: readonly Route[] = Object.values(ROUTES).flatMap((group) => Object.values(group) as Route[])
