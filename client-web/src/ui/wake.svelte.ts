//! Keeps the screen awake during a code where the browser can, and says whether it does. Where it cannot, as everywhere without TLS,
//! there is no second way: a silent film that plays to hold the screen on does so on some platforms only, and nobody would
//! know on which. The page says what to set on the tablet instead.

class Awake {
  /** Held; refused by the platform (a low battery, a setting); no such thing here; or nobody asked. */
  state = $state<'held' | 'refused' | 'absent' | 'idle'>('idle');
  #lock: WakeLockSentinel | null = null;

  /** Holds the screen on until what is returned is called; asks again whenever the page is shown again. */
  hold(): () => void {
    const ask = (): void => {
      if (document.visibilityState === 'visible') void this.#ask();
    };
    document.addEventListener('visibilitychange', ask);
    ask();
    return () => {
      document.removeEventListener('visibilitychange', ask);
      void this.#lock?.release();
      this.#lock = null;
      this.state = 'idle';
    };
  }

  async #ask(): Promise<void> {
    if (!('wakeLock' in navigator)) {
      this.state = 'absent';
      return;
    }
    if (this.#lock && !this.#lock.released) return;
    try {
      const lock = await navigator.wakeLock.request('screen');
      this.#lock = lock;
      this.state = 'held';
      lock.addEventListener('release', () => {
        if (this.#lock === lock) this.state = 'refused';
      });
    } catch {
      this.state = 'refused';
    }
  }
}

export const awake = new Awake();
