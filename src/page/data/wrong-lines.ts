import type { Now } from '../../shell/api/schema/status.ts'

type Wrong = Now['wrong'][number]

/** More of one kind than this are one line: six probes that were not read yet are one fact, not six. */
const APART = 2

/** What is wrong as lines, worst first; many of a kind and a priority become one that names them. */
export function wrongLines(wrong: readonly Wrong[]): readonly Wrong[] {
  const isMany = ({ kind, priority }: Wrong): boolean =>
    (kind === 'probe' || kind === 'trip' || kind === 'element') &&
    wrong.filter((other) => other.kind === kind && other.priority === priority).length > APART
  const lines: Wrong[] = []
  for (const one of wrong) {
    if (!isMany(one)) lines.push(one)
    else if (!lines.some((line) => line.kind === one.kind && line.priority === one.priority))
      lines.push(gathered(one, wrong))
  }
  return lines
}

const WORDS: Readonly<Partial<Record<Wrong['kind'], string>>> = {
  probe: 'probes have no good reading',
  trip: 'pumps or probes have tripped',
  element: 'elements are believed outside their bands',
}

function gathered({ kind, priority }: Wrong, wrong: readonly Wrong[]): Wrong {
  const all = wrong.filter((one) => one.kind === kind && one.priority === priority)
  const names = kind === 'trip' ? '' : `: ${all.map(({ id }) => id ?? '').join(', ')}`
  return { kind, priority, text: `${all.length} ${WORDS[kind]}${names}` }
}
