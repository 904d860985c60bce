/** A state as bytes and back, to the last bit: numbers that JSON cannot say, and typed arrays, are written out by name. */

/** Raised when the shape of the state changes; an older snapshot is then not read but rebuilt from records. */
export const SNAPSHOT_SCHEMA = 5

export type SnapshotRead<T> =
  | { readonly kind: 'state'; readonly state: T }
  | { readonly kind: 'unreadable'; readonly why: string }

interface Envelope {
  readonly schema: number
  readonly configurationHash: string
  readonly state: unknown
}

/** The state with its schema and the hash of the configuration it belongs to, as UTF-8 JSON. */
export function encodeSnapshot(state: unknown, configurationHash: string): Uint8Array {
  const envelope: Envelope = { schema: SNAPSHOT_SCHEMA, configurationHash, state }
  return new TextEncoder().encode(JSON.stringify(envelope, replace))
}

/**
 * The state back, if the bytes are whole and belong to this schema and configuration.
 *
 * The shape is trusted once schema and hash agree: snapshots are our own files, and the ledger says which are whole.
 */
export function decodeSnapshot<T>(bytes: Uint8Array, configurationHash: string): SnapshotRead<T> {
  let envelope: Envelope
  try {
    envelope = JSON.parse(new TextDecoder().decode(bytes), revive) as Envelope
  } catch {
    return { kind: 'unreadable', why: 'the snapshot is not whole' }
  }
  if (envelope.schema !== SNAPSHOT_SCHEMA)
    return {
      kind: 'unreadable',
      why: `the snapshot has schema ${envelope.schema}, this program reads ${SNAPSHOT_SCHEMA}`,
    }
  if (envelope.configurationHash !== configurationHash)
    return { kind: 'unreadable', why: 'the snapshot belongs to another configuration' }
  return { kind: 'state', state: envelope.state as T }
}

const FLOATS = '$float64'
const NUMBER = '$number'

function replace(_key: string, value: unknown): unknown {
  if (value instanceof Float64Array) {
    return { [FLOATS]: Buffer.from(value.buffer, value.byteOffset, value.byteLength).toString('base64') }
  }
  if (typeof value === 'number' && (!Number.isFinite(value) || Object.is(value, -0)))
    return { [NUMBER]: Object.is(value, -0) ? '-0' : String(value) }
  return value
}

function revive(_key: string, value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value
  const { [FLOATS]: floats, [NUMBER]: special } = value as Record<string, unknown>
  if (typeof special === 'string') return Number(special)
  if (typeof floats !== 'string') return value
  const bytes = Buffer.from(floats, 'base64')
  const array = new Float64Array(bytes.length / 8)
  new Uint8Array(array.buffer).set(bytes)
  return array
}
