import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Taken } from '../../../shell/api/schema/common.ts'
import type { Tokens } from '../../../shell/api/schema/token.ts'
import { useLive } from '../../data/live.ts'
import { tellMoment } from '../../data/moment.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Input } from '../../parts/field.tsx'
import { Done, Failure } from '../../parts/notice.tsx'

const ROLE_NAMES = ['viewer', 'grower', 'technician'] as const

/** Who may: each token with its role, made and revoked here. Its secret is shown once and kept nowhere. */
export function TokenList(): JSX.Element {
  const { value, failure, loadedAtMs, reload } = useLive<Tokens>('/api/tokens')
  const [name, setName] = useState('')
  const [role, setRole] = useState<string>('grower')
  const making = useTelling<{ readonly secret: string }>()
  const revoking = useTelling<Taken>()
  const make = async (event: Event) => {
    event.preventDefault()
    if ((await making.run('/api/tokens', { name, role })) !== null) reload()
  }
  const revoke = async (id: string) => {
    if ((await revoking.run(`/api/tokens/${encodeURIComponent(id)}/revoke`, {})) !== null) reload()
  }
  return (
    <section aria-labelledby="tokens-title">
      <h2 id="tokens-title">Who may</h2>
      <Failure lines={[...failure, ...making.failure, ...revoking.failure]} />
      <ul class="lines">
        {value?.tokens.map((token) => (
          <li key={token.id}>
            {token.name}, {token.role}{' '}
            <span class="quiet">
              since {tellMoment(token.createdAtMs, loadedAtMs)}
              {token.lastUsedAtMs === undefined
                ? ', never used'
                : `, last used ${tellMoment(token.lastUsedAtMs, loadedAtMs)}`}
              {token.revokedAtMs === undefined ? '' : ', ✕ revoked'}
            </span>{' '}
            {token.revokedAtMs === undefined ? (
              <button type="button" class="is-plain" onClick={() => revoke(token.id)}>
                Revoke {token.name}
              </button>
            ) : null}
          </li>
        ))}
      </ul>
      <form onSubmit={make}>
        <div class="fields">
          <Input label="Whose" value={name} onValue={setName} />
          <Choice
            label="Role"
            value={role}
            onValue={setRole}
            options={ROLE_NAMES.map((one) => ({ value: one, text: one }))}
          />
        </div>
        <Button type="submit" isOff={making.isBusy}>
          Make a token
        </Button>
      </form>
      {making.answer === null ? null : (
        <Done>
          Write it down now, it is shown this once: <code>{making.answer.secret}</code>
        </Done>
      )}
    </section>
  )
}
