/** Making one takes a quarter of a millisecond, and every tick asks. */
const FORMATS = new Map<string, Intl.DateTimeFormat>()

/** Minutes east of UTC that a named zone keeps at a moment. */
export function utcOffsetMinutes(zone: string, atMs: number): number {
  const format = FORMATS.get(zone) ?? new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' })
  FORMATS.set(zone, format)
  const name = format.formatToParts(new Date(atMs)).find((part) => part.type === 'timeZoneName')?.value
  const offset = /GMT(?:([+-])(\d{2}):(\d{2}))?/.exec(name ?? '')
  if (!offset?.[1]) return 0
  const minutes = Number(offset[2]) * 60 + Number(offset[3])
  return offset[1] === '-' ? -minutes : minutes
}
