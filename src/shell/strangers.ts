/** Messages of nodes that the site file does not declare: dropped at the edge, and told. */

/** More than a slip of the pen makes; whoever sends more names than this invents them. Chosen. */
const NAMES_MAX = 8
/** A topic may be 64 kB long, a name of the contract 48 letters. */
const SHOWN_MAX = 48

export interface Strangers {
  /** whether what this node says goes no further */
  isOne(node: string): boolean
}

/**
 * Knows the nodes of a site from all others. The first message of another is told, once for each name, and once more
 * when there were too many names: from then on names are neither kept nor told, so that whoever may write to the broker
 * fills neither memory nor log with them.
 */
export function createStrangers(declared: readonly string[], tell: (text: string) => void): Strangers {
  const known = new Set(declared)
  const told = new Set<string>()
  return {
    isOne: (node) => {
      if (known.has(node)) return false
      const name = node.slice(0, SHOWN_MAX)
      if (told.size > NAMES_MAX || told.has(name)) return true
      told.add(name)
      tell(told.size > NAMES_MAX ? TOO_MANY : toldOf(name, declared))
      return true
    },
  }
}

function toldOf(name: string, declared: readonly string[]): string {
  return (
    `Node ${JSON.stringify(name)} is not in the site file, so nothing it says is taken; the site’s nodes are ` +
    `${declared.join(', ')}. Correct its name there or in the node.`
  )
}

const TOO_MANY =
  `More than ${NAMES_MAX} nodes that are not in the site file send messages. None is taken, and no more names are told; ` +
  'look at who may write to the broker.'
