import { CommandFailure } from './command-failure.ts'

/**
 * The whole number that an option holds.
 *
 * @throws CommandFailure that names the option, what was found and what is needed
 */
export function wholeNumber(flag: string, text: string, least: number, most: number): number {
  const value = Number(text)
  if (text.trim() !== '' && Number.isInteger(value) && value >= least && value <= most) return value
  throw new CommandFailure('usage', `${flag}: found "${text}"; a whole number from ${least} to ${most} is needed`)
}
