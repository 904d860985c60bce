import { describe, expect, it } from 'vitest'
import { closeAll } from '../../../src/shell/closing.ts'

describe('letting go', () => {
  it('goes on in order after one that fails, and tells the first failure at the end', async () => {
    const closed: string[] = []
    const closing = closeAll([
      async () => void closed.push('pumps'),
      () => {
        throw new Error('the disk is full')
      },
      async () => {
        throw new Error('no such link')
      },
      () => void closed.push('lock'),
    ])
    await expect(closing).rejects.toThrow('the disk is full')
    expect(closed).toEqual(['pumps', 'lock'])
  })
})
