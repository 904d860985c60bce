import { describe, it } from 'vitest'
import { dieAtEveryPoint, WITHIN_MS } from './crash-hours.ts'

describe('a daemon that dies just after every durable point of six hours in turn', () => {
  it(
    'gives nothing twice, passes no limit and loses nothing that was acknowledged',
    async () => {
      await dieAtEveryPoint('after')
    },
    WITHIN_MS,
  )
})
