//! Keeps the screen awake during a code where the browser can. It fails silently: the page says what is lacking.

let lock: WakeLockSentinel | null = null;

/** Asks for the screen to stay on; again after the page was hidden. */
export async function keepAwake(): Promise<void> {
  if (!('wakeLock' in navigator) || (lock && !lock.released)) return;
  try {
    lock = await navigator.wakeLock.request('screen');
  } catch {
    lock = null;
  }
}
