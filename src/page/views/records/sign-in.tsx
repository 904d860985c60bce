import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Me } from '../../../shell/api/schema/token.ts'
import { daemonNowMs } from '../../data/daemon-clock.ts'
import { tellMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Input } from '../../parts/field.tsx'
import { Failure } from '../../parts/notice.tsx'

const ROLES: Readonly<Record<Me['role'], string>> = {
  anyone: 'nobody is signed in here; holding the dosing works all the same',
  viewer: 'may look at everything and, as anybody here, hold all dosing',
  grower: 'may log acts, give reports, acknowledge, release a hold and lower the mode',
  technician: 'may do everything, also limits, calibration and raising the mode',
}

/** Who this browser is; a token is given once and kept by the browser where no script can read it. */
export function SignIn({ me, onDone }: { readonly me: Me; readonly onDone: () => void }): JSX.Element {
  const [token, setToken] = useState('')
  const telling = useTelling<Me>()
  const submit = async (event: Event) => {
    event.preventDefault()
    if ((await telling.run('/api/session', { token: token.trim() })) === null) return
    setToken('')
    onDone()
  }
  const leave = async () => {
    if ((await telling.run('/api/session/end', {})) !== null) onDone()
  }
  return (
    <section aria-labelledby="sign-in-title">
      <h2 id="sign-in-title">{me.name === undefined ? 'Sign in' : 'Signed in'}</h2>
      <p>
        {me.name === undefined ? '' : `${me.name}: `}
        {ROLES[me.role]}
        {me.expiresAtMs === undefined ? '' : `; until ${tellMoment(me.expiresAtMs, daemonNowMs())}`}.
      </p>
      {me.name === undefined ? (
        <form onSubmit={submit}>
          <Input
            label="Token"
            type="password"
            value={token}
            onValue={setToken}
            hint="The daemon printed one at its first start; a technician makes more here, or types: tarnward token create"
          />
          <Button type="submit" isOff={telling.isBusy}>
            Sign in
          </Button>
        </form>
      ) : (
        <Button isOff={telling.isBusy} onClick={leave}>
          Sign out
        </Button>
      )}
      <Failure lines={telling.failure} />
    </section>
  )
}
