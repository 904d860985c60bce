/** From the bytes of a laboratory’s file to the text that is sent, in the encodings that spreadsheets and older programs write. */

/**
 * The text of a laboratory’s file: UTF-16 where it begins with that mark, UTF-8 where it is valid, else Windows-1252.
 *
 * The last is no guess that could change a figure: digits and marks are the same in all of them, and a micro sign of yet
 * another encoding becomes a unit that nobody knows, which is refused.
 */
export function textOfReport(file: Uint8Array | ArrayBuffer): string {
  const bytes = file instanceof Uint8Array ? file : new Uint8Array(file)
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes)
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return new TextDecoder('utf-16be').decode(bytes)
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes)
  } catch {
    return new TextDecoder('windows-1252').decode(bytes)
  }
}
