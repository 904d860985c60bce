/** The text with one edit made. @throws where the place is not there exactly once: the bug must then be planted anew */
export function withBug(
  text: string,
  edit: { readonly file: string; readonly find: string; readonly put: string },
): string {
  const places = text.split(edit.find).length - 1
  if (places !== 1) throw new Error(`${edit.file} has ${places} places that read:\n${edit.find}`)
  return text.replace(edit.find, () => edit.put)
}
