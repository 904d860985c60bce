/** One thing wrong with a configuration file, as a value: where it is, what was found, what is allowed, what to do. */
export interface ConfigurationError {
  /** the file’s name as the person gave it */
  readonly file: string
  /** counted from 1; a missing key is reported at its parent */
  readonly line: number
  readonly column: number
  /** keys joined by dots; places in a list counted from 0 */
  readonly path: string
  readonly found: string
  readonly allowed: string
  /** what it means and what to do next, one or two sentences */
  readonly message: string
}

/** The error as one line for a person: `limits.yaml:14:5  acid.shotMaxMl: found 40, allowed 0 to 8 mL. Lower it.` */
export function formatConfigurationError(error: ConfigurationError): string {
  const { file, line, column, path, found, allowed, message } = error
  const place = path === '' ? '' : `${path}: `
  return `${file}:${line}:${column}  ${place}found ${found}, allowed ${allowed}. ${message}`
}

/** In the order of reading: by file as the files were read, then by place. */
export function sortErrors(errors: readonly ConfigurationError[], files: readonly string[]): ConfigurationError[] {
  const rank = (error: ConfigurationError) => files.indexOf(error.file)
  return [...errors].sort((a, b) => rank(a) - rank(b) || a.line - b.line || a.column - b.column)
}
