/** The token of whoever uses this browser. It stays in this browser and is sent to this daemon only. */

const KEY = 'token'
const listeners = new Set<() => void>()

/** Null where nobody has signed in here. */
export function readToken(): string | null {
  return localStorage.getItem(KEY)
}

/** Null signs out. */
export function writeToken(token: string | null): void {
  if (token === null) localStorage.removeItem(KEY)
  else localStorage.setItem(KEY, token.trim())
  for (const listener of listeners) listener()
}

/** Calls at every change until the returned function is called. */
export function onSignIn(listener: () => void): () => void {
  listeners.add(listener)
  return () => listeners.delete(listener)
}
