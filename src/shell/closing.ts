/** One thing to let go of. */
export type Closing = () => void | Promise<void>

/**
 * Lets go of everything in order, also of what comes after one that fails: a full disk must not keep a lock or a link.
 *
 * @throws the first failure, once everything has been tried
 */
export async function closeAll(closings: readonly Closing[]): Promise<void> {
  const failures: unknown[] = []
  for (const close of closings) {
    try {
      await close()
    } catch (error) {
      failures.push(error)
    }
  }
  if (failures.length > 0) throw failures[0]
}
