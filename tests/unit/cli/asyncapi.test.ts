import { createRequire } from 'node:module'
import { Ajv } from 'ajv'
import { describe, expect, it } from 'vitest'
import { asyncApiDocument } from '../../../src/cli/asyncapi.ts'

const require = createRequire(import.meta.url)

describe('the AsyncAPI document', () => {
  it('is a valid document of AsyncAPI 3.0 by the standard’s own schema', () => {
    const schema = require('@asyncapi/specs/schemas/3.0.0.json') as object
    const ajv = new Ajv({ strict: false, validateFormats: false, meta: false, validateSchema: false })
    const isValid = ajv.compile(schema)
    isValid(asyncApiDocument('test'))
    expect(isValid.errors ?? []).toEqual([])
    expect(isValid({ ...asyncApiDocument('test'), channels: 'none' })).toBe(false)
  })

  it('has every topic of the contract and the daemon’s own, each with the payload that is enforced', () => {
    const { channels } = asyncApiDocument('test') as { channels: Record<string, { address: string }> }
    expect(Object.keys(channels)).toEqual(
      expect.arrayContaining(['status', 'heartbeat', 'scan', 'report', 'command', 'lease', 'availability', 'alarm']),
    )
    expect(channels['command']!.address).toBe('tarnward/v1/{site}/{node}/pump/{pump}/command')
  })
})
