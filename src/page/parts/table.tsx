import type { ComponentChildren, JSX } from 'preact'

interface Column<Row> {
  readonly title: string
  readonly isNumber?: boolean
  readonly tell: (row: Row, at: number) => ComponentChildren
}

interface TableProps<Row> {
  readonly caption?: string
  /** the first one names the row */
  readonly columns: readonly Column<Row>[]
  readonly rows: readonly Row[]
  readonly keyOf: (row: Row, at: number) => string
}

/** In a cell that has nothing to say. */
export const NOTHING = '–'

/** Style sheets that lay a table out as blocks take its meaning away in some browsers; said outright, it stays. */
const SAID = {
  table: { role: 'table' },
  group: { role: 'rowgroup' },
  row: { role: 'row' },
  column: { role: 'columnheader', scope: 'col' },
  name: { role: 'rowheader', scope: 'row' },
  cell: { role: 'cell' },
} as const

/** A table where there is room; on a phone each row stands by itself, with the title of its column beside each value. */
export function Table<Row>({ caption, columns, rows, keyOf }: TableProps<Row>): JSX.Element {
  const [name, ...others] = columns
  return (
    <table {...SAID.table}>
      {caption === undefined ? null : <caption>{caption}</caption>}
      <thead {...SAID.group}>
        <tr {...SAID.row}>
          {columns.map(({ title, isNumber }) => (
            <th key={title} {...SAID.column} class={isNumber ? 'number' : ''}>
              {title}
            </th>
          ))}
        </tr>
      </thead>
      <tbody {...SAID.group}>
        {rows.map((row, at) => (
          <tr key={keyOf(row, at)} {...SAID.row}>
            <th {...SAID.name}>{name?.tell(row, at)}</th>
            {others.map(({ title, isNumber, tell }) => {
              const told = tell(row, at)
              return (
                <td key={title} {...SAID.cell} class={classOf(told, isNumber)} data-title={title}>
                  <div>{told}</div>
                </td>
              )
            })}
          </tr>
        ))}
      </tbody>
    </table>
  )
}

/** Nothing needs a cell in a table, and no line on a phone. */
function classOf(told: ComponentChildren, isNumber: boolean | undefined): string {
  return [isNumber ? 'number' : '', told === NOTHING ? 'is-nothing' : ''].join(' ').trim()
}
