import type { Me } from '../../shell/api/schema/token.ts'
import { useLive } from './live.ts'

const RANK = { anyone: 0, viewer: 1, grower: 2, technician: 3 } as const

interface Session {
  readonly me: Me
  /** false until the daemon has said who this is: nobody is told meanwhile that they may not */
  readonly isKnown: boolean
  readonly may: (role: Me['role']) => boolean
  readonly reload: () => void
}

/** Who this browser is to the daemon, and whether that is enough for something. */
export function useMe(): Session {
  const { value, reload } = useLive<Me>('/api/me')
  const me: Me = value ?? { role: 'anyone' }
  return { me, isKnown: value !== null, may: (role) => RANK[me.role] >= RANK[role], reload }
}
