import type { Me } from '../../shell/api/schema/token.ts'
import { useLive } from './live.ts'

const RANK = { anyone: 0, viewer: 1, grower: 2, technician: 3 } as const

/** Who this browser is to the daemon, and whether that is enough for something. */
export function useMe(): { readonly me: Me; readonly may: (role: Me['role']) => boolean; readonly reload: () => void } {
  const { value, reload } = useLive<Me>('/api/me')
  const me: Me = value ?? { role: 'anyone' }
  return { me, may: (role) => RANK[me.role] >= RANK[role], reload }
}
