/** What made the estimate give way, in words a grower can act on. */

import type { Reopened } from '../core/estimate/memory.ts'

const percent = (share: number): string => `${Math.round(100 * share)} %`
const litres = (volumeL: number): string => `${volumeL.toFixed(volumeL < 20 ? 1 : 0)} L`

/** One sentence of what was found, one of what was made of it, one of what to do. */
export function reopenedText({ cause, amount }: Reopened): string {
  switch (cause) {
    case 'solution-lost':
      return `The level has stood ${litres(amount)} below what the balance says for an hour: solution was let go or leaks, or the level probe sank. The amounts are taken to have gone with it, so concentrations stand as they were. Look at floor, valves and probe, and write down what was drained.`
    case 'water-added':
      return `The level has stood ${litres(amount)} above the balance for an hour, and EC or pH show the water: a make-up valve is stuck open, or water was added and not written down. The solution is taken as diluted by that much. Close the water and look at the valve.`
    case 'level-probe-moved':
      return `The level has stood ${litres(amount)} above the balance for an hour, but EC and pH show no water: the level probe has moved. It is read with that difference taken off. Set it right and measure the level by hand.`
    case 'level-probe-returned':
      return `The level has fallen by ${litres(amount)} after it was read with a difference taken off: the level probe has come back, or as much solution was let go. The difference is given back and the volume stands as it was. Measure the level by hand, and write down what was drained.`
    case 'water-or-level-probe':
      return `The level has stood ${litres(amount)} above the balance for an hour, and EC and pH cannot tell water from a probe that moved. Volume and concentrations are doubtful until readings decide. Look at the make-up valve and the level probe.`
    case 'diluted':
      return `EC has read too low for an hour, and pH agrees with water in its place: about ${percent(amount)} of the solution was exchanged for water and nobody wrote it down. The estimate follows. Write the change down, and take a sample.`
    case 'diluted-or-conductivity-probe':
      return `EC has read too low for an hour: ${percent(amount)} of the solution exchanged for water, or an EC probe that walked; pH cannot tell which. Both are doubtful now, so less is corrected at once. Check the probe in a standard, and take a sample.`
    case 'conductivity-probe':
      return `EC has read ${percent(amount)} too low for an hour, and pH and level show no water: the EC probe has walked or is fouled. Less is made of it until it agrees again. Clean it and check it in a standard.`
    case 'salt-or-conductivity-probe':
      return `EC has read ${percent(amount)} too high for an hour, which no water explains: the EC probe has walked, or salt was added and not written down. Both are doubtful now. Check the probe in a standard, and write down what was added.`
    case 'ph-probe':
      return `pH has read ${Math.abs(amount).toFixed(2)} too ${amount > 0 ? 'high' : 'low'} for an hour, and EC and level explain nothing of it: the pH probe has walked, or acid or base was added and not written down. Less is made of it until it agrees again. Check it in two buffers.`
  }
}
