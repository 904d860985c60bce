import type { CommandMessage, LeaseMessage, NodeMessage } from '../contract/message.ts'

export interface NodeLinkHandlers {
  /** who drives the nodes: a broker keeps what they report for this name and no other */
  readonly controller?: string
  readonly onMessage: (node: string, message: NodeMessage) => void
  /** something arrived that is not taken in; `topic` names where, `why` what was wrong */
  readonly onRefused: (topic: string, why: string) => void
  /** only at changes, the first one included */
  readonly onLink: (up: boolean) => void
}

/** The way to pump nodes: over a broker, a serial line, or in lockstep inside a process. */
export interface NodeLink {
  /** begins to connect and keeps trying; returns at once */
  start(handlers: NodeLinkHandlers): void
  /**
   * Hands a command to a link that is up, and to no other.
   * @returns 'not-sent' only where it certainly never left; in doubt 'sent', since unknown counts as delivered
   */
  sendCommand(node: string, pump: string, command: CommandMessage): Promise<'sent' | 'not-sent'>
  /** sends now or not at all: a node’s lease runs out by itself */
  sendLease(node: string, lease: LeaseMessage): void
  close(): Promise<void>
}
