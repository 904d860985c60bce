import { describe, it } from 'vitest'
import { dieAtEveryPoint, WITHIN_MS } from './crash-hours.ts'

describe('a daemon that dies just before every durable point of six hours in turn', () => {
  it(
    'gives nothing twice, passes no limit and loses nothing that was acknowledged',
    async () => {
      await dieAtEveryPoint('before')
    },
    WITHIN_MS,
  )
})
