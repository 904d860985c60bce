/** Why a command ends without its result; the front door turns it into a message and an exit code. */

/** Exit codes after sysexits.h, where it has one. */
export const EXIT_CODES = {
  failed: 1,
  usage: 64,
  data: 65,
  'no-input': 66,
  unavailable: 69,
  fault: 70,
  'input-output': 74,
  later: 75,
  'no-permission': 77,
  configuration: 78,
} as const

export type FailureKind = keyof typeof EXIT_CODES

/** Expected trouble, said in words; anything else that reaches the front door is a fault of the program. */
export class CommandFailure extends Error {
  readonly kind: FailureKind

  constructor(kind: FailureKind, message: string) {
    super(message)
    this.kind = kind
  }
}
