/** A duration as a grower says it: 850 ms, 12.5 s, 17 min, 3.2 h. */
export function tellDuration(ms: number): string {
  if (!Number.isFinite(ms)) return 'an unknown time'
  if (ms < 1000) return `${Math.round(ms)} ms`
  if (ms < 120_000) return `${short(ms / 1000)} s`
  if (ms < 7_200_000) return `${short(ms / 60_000)} min`
  return `${short(ms / 3_600_000)} h`
}

/** A wait, rounded up to the second so that nobody comes back too early. */
export function tellWait(ms: number): string {
  return tellDuration(Math.ceil(ms / 1000) * 1000)
}

/** A volume as a grower says it, in mL. */
export function tellVolume(ul: number): string {
  return Number.isFinite(ul) ? `${short3(ul / 1000)} mL` : 'an unknown volume'
}

/** A measured value, short. */
export function tellValue(value: number): string {
  return Number.isFinite(value) ? short3(value) : 'no number'
}

function short(value: number): string {
  return String(Math.round(value * 10) / 10)
}

function short3(value: number): string {
  return String(Math.round(value * 1000) / 1000)
}
