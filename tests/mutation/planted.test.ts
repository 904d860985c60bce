import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { PLANTED_BUGS } from './planted-bugs.ts'
import { withBug } from './with-bug.ts'

describe('the bugs that `npm run campaign -- planted` plants', () => {
  it('are at least ten, and no two the same', () => {
    expect(new Set(PLANTED_BUGS.map(({ name }) => name)).size).toBeGreaterThanOrEqual(10)
  })

  it.each(PLANTED_BUGS)('$name: still has its place in the gate', ({ edits }) => {
    for (const edit of edits) {
      const sound = readFileSync(edit.file, 'utf8')
      expect(withBug(sound, edit)).not.toBe(sound)
    }
  })
})
