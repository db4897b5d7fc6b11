/**
 * Keeps the screen awake where the browser can (only on localhost or https). Call from a touch; asked again when the page
 * comes back to view. `onState` says whether the screen is held awake.
 */
export function keepAwake(onState: (awake: boolean) => void): () => void {
  let wanted = false
  let held: WakeLockSentinel | null = null
  const ask = async () => {
    if (!wanted || held !== null || document.visibilityState !== 'visible') return
    if (!('wakeLock' in navigator)) return onState(false)
    try {
      const lock = await navigator.wakeLock.request('screen')
      held = lock
      onState(true)
      lock.addEventListener('release', () => {
        held = null
        onState(false)
      })
    } catch {
      // Refused for low battery or without a touch: nothing depends on it, the page only says so.
      onState(false)
    }
  }
  document.addEventListener('visibilitychange', () => void ask())
  return () => {
    wanted = true
    void ask()
  }
}
