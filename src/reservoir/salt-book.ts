/** What one gram of each salt on the shelf brings, mmol by element in the order of ELEMENTS. */
export type SaltBook = Readonly<Record<string, Float64Array>>
