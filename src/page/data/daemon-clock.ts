/** The daemon’s time at this browser: a phone’s clock may be minutes off, and a bench may run on a scaled one. */

let aheadMs = 0

/** Told with every answer that carries the daemon’s own time. */
export function noteDaemonTime(atMs: number): void {
  aheadMs = atMs - Date.now()
}

export function daemonNowMs(): number {
  return Date.now() + aheadMs
}
