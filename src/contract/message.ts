import { z } from 'zod'
import { UNIT_CODES } from './unit.ts'

/** Device contract, version 1: what a pump node and the daemon say to each other. */
export const CONTRACT_VERSION = 1

/** The one such name that every object inherits is nobody’s. */
export const ID_PATTERN = /^(?!constructor$)[a-z0-9][a-z0-9-]{0,47}$/
export const ID_ALLOWED = 'lower-case letters, digits and hyphens, at most 48, but not the word constructor'

const id = z.string().regex(ID_PATTERN, ID_ALLOWED).meta({ description: 'name of a node, pump or probe' })
const boot = z.string().min(1).max(64).meta({ description: 'changes with every start of the node' })
const uptimeMs = z.number().int().nonnegative().meta({ description: 'the node’s own clock since its boot, ms' })
const durationMs = z.number().int().nonnegative()
const term = z.number().int().nonnegative().meta({ description: 'grows with every start of a controller' })

/** Retained, and also the node’s will; a late will of an old boot is known by its boot. */
export const statusSchema = z.object({
  contract: z.literal(CONTRACT_VERSION),
  online: z.boolean(),
  boot,
  firmware: z.string().max(64).optional(),
  pumps: z
    .array(z.object({ id, maxRunMs: durationMs.positive(), group: z.string().max(48).optional() }))
    .max(64)
    .optional(),
  probes: z
    .array(z.object({ id, unit: z.enum(UNIT_CODES) }))
    .max(64)
    .optional(),
})

/** Every few seconds: the totalisers, and the run time the node cannot vouch for. */
export const heartbeatSchema = z.object({
  boot,
  uptimeMs,
  term,
  pumps: z
    .array(z.object({ id, totalRunMs: durationMs, doubtMs: durationMs, runningId: z.string().max(64).optional() }))
    .max(64),
})

export const QUALITIES = ['good', 'uncertain', 'bad'] as const

/** All probe values of one moment. */
export const scanSchema = z.object({
  boot,
  uptimeMs,
  readings: z
    .array(z.object({ id, value: z.number(), unit: z.enum(UNIT_CODES), quality: z.enum(QUALITIES).optional() }))
    .max(64),
})

/** One shot: can only start on this boot, before this moment of the node’s own clock, under a living lease of this term. */
export const commandSchema = z.object({
  id: z.string().min(1).max(64),
  controller: z.string().min(1).max(64),
  term,
  boot,
  runMs: durationMs.positive(),
  startBeforeUptimeMs: uptimeMs,
})

export const REPORT_STATES = ['accepted', 'running', 'done', 'refused', 'stopped'] as const

/** What became of a command. `totalRunMs` is the pump’s totaliser at this moment. */
export const reportSchema = z.object({
  id: z.string().min(1).max(64),
  boot,
  uptimeMs,
  state: z.enum(REPORT_STATES),
  ranMs: durationMs,
  totalRunMs: durationMs,
  reason: z.string().max(200).optional(),
})

/** Permission to run pumps until a moment of the node’s own clock; 0 stops every pump now. */
export const leaseSchema = z.object({
  controller: z.string().min(1).max(64),
  term,
  boot,
  untilUptimeMs: uptimeMs,
})

export type StatusMessage = z.infer<typeof statusSchema>
export type HeartbeatMessage = z.infer<typeof heartbeatSchema>
export type ScanMessage = z.infer<typeof scanSchema>
export type CommandMessage = z.infer<typeof commandSchema>
export type ReportMessage = z.infer<typeof reportSchema>
export type LeaseMessage = z.infer<typeof leaseSchema>

/** A message of a node to the daemon, named by its kind. */
export type NodeMessage =
  | { readonly kind: 'status'; readonly message: StatusMessage }
  | { readonly kind: 'heartbeat'; readonly message: HeartbeatMessage }
  | { readonly kind: 'scan'; readonly message: ScanMessage }
  | { readonly kind: 'report'; readonly pump: string; readonly message: ReportMessage }

/** A message of the daemon to a node. */
export type DaemonMessage =
  | { readonly kind: 'command'; readonly pump: string; readonly message: CommandMessage }
  | { readonly kind: 'lease'; readonly message: LeaseMessage }
