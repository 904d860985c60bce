/** Minutes east of UTC that a named zone keeps at a moment. */
export function utcOffsetMinutes(zone: string, atMs: number): number {
  const name = new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' })
    .formatToParts(new Date(atMs))
    .find((part) => part.type === 'timeZoneName')?.value
  const offset = /GMT(?:([+-])(\d{2}):(\d{2}))?/.exec(name ?? '')
  if (!offset?.[1]) return 0
  const minutes = Number(offset[2]) * 60 + Number(offset[3])
  return offset[1] === '-' ? -minutes : minutes
}
