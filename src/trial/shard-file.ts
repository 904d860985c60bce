/** A part of a campaign as a file, and the parts together as the campaign they are parts of. */

import { SCORED } from './bands.ts'
import type { Outcomes } from './campaign.ts'
import type { ControllerName } from './controllers.ts'
import { emptyTally, type Tally } from './tally.ts'
import type { TrialOutcome } from './trial-outcome.ts'

/** What two shards must share to be parts of one campaign. */
export interface CampaignName {
  readonly scenario: string
  readonly configurationHash: string
  readonly days: number
  readonly firstSeed: number
  readonly seeds: number
  /** the one asked about; those after it stand beside it */
  readonly controllers: readonly ControllerName[]
}

export interface ShardFile {
  readonly format: typeof FORMAT
  readonly campaign: CampaignName
  readonly shard: { readonly index: number; readonly of: number }
  readonly outcomes: Readonly<Partial<Record<ControllerName, readonly PackedOutcome[]>>>
}

const FORMAT = 'tarnward-campaign-shard-1'

type PackedOutcome = Omit<TrialOutcome, 'tally'> & { readonly tally: PackedTally }

interface PackedTally {
  readonly elements: Readonly<Record<string, PackedElement>>
  readonly squaresMeq: string
  readonly cycles: string
  readonly allInBand: number
  readonly hours: number
}

interface PackedElement {
  readonly errors: string
  readonly halfWidths: string
  readonly covered: number
  readonly inBand: number
  readonly hours: number
  readonly deepest: number
}

/** A shard to be written. Hourly values are kept bit for bit, so that a merged quantile is the one of a single run. */
export function shardFile(campaign: CampaignName, shard: ShardFile['shard'], outcomes: Outcomes): ShardFile {
  const packed = campaign.controllers.map((name) => [name, (outcomes[name] ?? []).map(pack)])
  return { format: FORMAT, campaign, shard, outcomes: Object.fromEntries(packed) }
}

export type Merged =
  | { readonly kind: 'merged'; readonly campaign: CampaignName; readonly outcomes: Outcomes }
  | { readonly kind: 'no-campaign'; readonly why: string }

/**
 * All shards of one campaign as its outcomes, in the order of the seeds.
 *
 * @param files as they were parsed, each with the name to tell of it
 */
export function mergeShards(files: readonly { readonly name: string; readonly shard: unknown }[]): Merged {
  const shards: ShardFile[] = []
  for (const { name, shard } of files) {
    if (!isShard(shard))
      return { kind: 'no-campaign', why: `${name}: no shard of a campaign; simulate --shard i/n writes one` }
    const first = shards[0]
    if (first && JSON.stringify(first.campaign) !== JSON.stringify(shard.campaign))
      return { kind: 'no-campaign', why: `${name}: a shard of another campaign than ${files[0]?.name}` }
    if (first && first.shard.of !== shard.shard.of)
      return {
        kind: 'no-campaign',
        why: `${name}: one of ${shard.shard.of} shards, ${files[0]?.name} is one of ${first.shard.of}`,
      }
    if (shards.some((other) => other.shard.index === shard.shard.index))
      return { kind: 'no-campaign', why: `${name}: shard ${shard.shard.index}/${shard.shard.of} is there twice` }
    shards.push(shard)
  }
  const first = shards[0]
  if (!first) return { kind: 'no-campaign', why: 'no shard was named' }
  const missing = Array.from({ length: first.shard.of }, (_none, at) => at + 1).filter(
    (index) => !shards.some((shard) => shard.shard.index === index),
  )
  if (missing.length > 0)
    return { kind: 'no-campaign', why: `shard ${missing.join(', ')} of ${first.shard.of} is missing; name every shard` }
  return { kind: 'merged', campaign: first.campaign, outcomes: joined(shards, first.campaign.controllers) }
}

function joined(shards: readonly ShardFile[], controllers: readonly ControllerName[]): Outcomes {
  const entries = controllers.map((name) => [
    name,
    shards
      .flatMap((shard) => shard.outcomes[name] ?? [])
      .toSorted((one, other) => one.seed - other.seed)
      .map(unpack),
  ])
  return Object.fromEntries(entries)
}

function isShard(value: unknown): value is ShardFile {
  return typeof value === 'object' && value !== null && (value as { format?: unknown }).format === FORMAT
}

function pack(outcome: TrialOutcome): PackedOutcome {
  const { elements, squaresMeq, cycles, ...rest } = outcome.tally
  const packed = SCORED.map((name) => {
    const { errors, halfWidths, ...counts } = elements[name]
    return [name, { errors: toText(errors), halfWidths: toText(halfWidths), ...counts }]
  })
  const tally = {
    elements: Object.fromEntries(packed),
    squaresMeq: toText(squaresMeq),
    cycles: toText(cycles),
    ...rest,
  }
  return { ...outcome, tally }
}

function unpack(outcome: PackedOutcome): TrialOutcome {
  const { elements, squaresMeq, cycles, allInBand, hours } = outcome.tally
  const tally: Tally = { ...emptyTally(), squaresMeq: fromText(squaresMeq), cycles: fromText(cycles), allInBand, hours }
  for (const name of SCORED) {
    const packed = elements[name]
    if (!packed) throw new Error(`a shard without ${name}`)
    const { errors, halfWidths, ...counts } = packed
    Object.assign(tally.elements[name], { errors: fromText(errors), halfWidths: fromText(halfWidths), ...counts })
  }
  return { ...outcome, tally }
}

/** Doubles, little-endian as every machine that Node 20 runs on, in base 64. */
function toText(values: readonly number[]): string {
  return Buffer.from(Float64Array.from(values).buffer).toString('base64')
}

function fromText(text: string): number[] {
  const bytes = Uint8Array.from(Buffer.from(text, 'base64'))
  return Array.from(new Float64Array(bytes.buffer))
}
