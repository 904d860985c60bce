import type { CommandMessage } from '../contract/message.ts'
import { PermittedShot } from '../safety/permitted-shot.ts'

/**
 * The message for the node of a permitted shot.
 *
 * @throws for anything that `judge` did not permit, however alike it looks
 */
export function toCommandMessage(shot: PermittedShot): CommandMessage {
  if (!PermittedShot.is(shot)) throw new Error('only a shot that safety permitted can become a command')
  const { id, controller, term, boot, runMs, startBeforeUptimeMs } = shot
  return { id, controller, term, boot, runMs, startBeforeUptimeMs }
}
