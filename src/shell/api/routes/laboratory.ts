/** A laboratory’s file on its way in. */

import { parseInstant } from '../../clock.ts'
import type { DaemonView } from '../../daemon-view.ts'
import { ROUTES } from '../schema/index.ts'
import type { Serve } from '../serve.ts'
import { signed } from './person.ts'

export function serveLaboratory(serve: Serve, view: DaemonView): void {
  serve(ROUTES.laboratory.upload, async ({ caller, body }) => {
    const { sampledAt, accept, sample, mapping, by, ...file } = body
    const answer = await view.addLaboratory({
      ...file,
      by: signed(caller, by),
      sampledAtMs: parseInstant(sampledAt),
      isAccepted: accept,
      ...(sample === undefined ? {} : { sample }),
      ...(mapping === undefined ? {} : { mapping }),
    })
    if (answer.kind === 'refused')
      return { status: 422, refused: `${file.fileName} could not be taken.`, errors: answer.why }
    if (answer.kind === 'held') return { status: 202, json: answer }
    return { status: answer.known ? 200 : 201, json: answer }
  })
}
