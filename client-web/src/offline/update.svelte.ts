//! The installed page: its service worker, and when a new build of it is taken. Never in a code, and never under somebody's finger: only
//! on the start page, when nobody has touched it for a while and nothing waits to be sent.

/** For so long nobody touched the page. */
const UNTOUCHED_MS = 8_000;
const LOOK_MS = 2_000;
/** For so long after its start a page does nothing for a later start. */
const FIRST_MS = 1500;
/** How often a page that stays open asks whether there is a new build. */
const ASK_MS = 3_600_000;
/** Held by every page of this browser that shows a code. */
const IN_CODE = 'coxswain in a code';
/** As in `worker.js`. */
const FILES_OF = 'coxswain build ';
const NOTES = 'coxswain notes';

class Updates {
  /** Whether the page starts without a network: no such thing here, not yet, or yes. */
  state = $state<'absent' | 'preparing' | 'ready'>('absent');
  /** A new build is here and waits. */
  waiting = $state(false);

  #registration: ServiceWorkerRegistration | null = null;
  /** Whether this page may change: it shows no code, and nothing waits. */
  #free = false;
  #touched_ms = 0;
  #release: (() => void) | null = null;
  /** The build that this page came from. */
  #mine: string | undefined;

  /** Begins, where the browser gives such a thing to this address. */
  start(): void {
    if (!('serviceWorker' in navigator) || !import.meta.env.PROD) return;
    this.state = 'preparing';
    void navigator.serviceWorker.ready.then(() => (this.state = 'ready'));
    // Fetching the whole page once more to keep it takes its time from what matters first: the task.
    setTimeout(() => {
      navigator.serviceWorker.register('/sw.js').then((registration) => {
        this.#registration = registration;
      }, () => (this.state = 'absent'));
    }, FIRST_MS);
    for (const one of ['pointerdown', 'keydown', 'input'] as const) document.addEventListener(one, () => (this.#touched_ms = performance.now()), { capture: true, passive: true });
    setInterval(() => void this.#look().catch(() => undefined), LOOK_MS);
    setInterval(() => this.ask(), ASK_MS);
  }

  /** Asks the server whether there is another build: after each reconnect, since it may have been replaced meanwhile. */
  ask(): void {
    this.#registration?.update().catch(() => undefined);
  }

  /** Says whether this page may change now. */
  free(on: boolean): void {
    this.#free = on;
    if (on) {
      this.#release?.();
      this.#release = null;
    } else if (!this.#release && navigator.locks) {
      let release = (): void => undefined;
      const held = new Promise<void>((resolve) => (release = resolve));
      this.#release = release;
      void navigator.locks.request(IN_CODE, { mode: 'shared' }, () => held).catch(() => undefined);
    }
  }

  async #look(): Promise<void> {
    if (this.state !== 'ready') return;
    const notes = await caches.open(NOTES);
    const noted = async (name: string): Promise<string | undefined> => (await notes.match(name))?.text();
    const [inUse, newest] = [await noted('/in-use'), await noted('/newest')];
    this.#mine ??= inUse;
    const waiting = newest !== undefined && inUse !== newest;
    if (this.waiting !== waiting) this.waiting = waiting;
    // Somebody who types a name or a join code may look away for long.
    const typing = document.activeElement instanceof HTMLInputElement;
    if (!this.#free || typing || performance.now() - this.#touched_ms < UNTOUCHED_MS) return;
    // Another page of this browser took a new build: this one follows.
    if (this.#mine !== inUse) location.reload();
    if (!waiting) return;
    const take = async (): Promise<void> => {
      await notes.put('/in-use', new Response(newest));
      for (const name of await caches.keys()) if (name.startsWith(FILES_OF) && name !== FILES_OF + newest) await caches.delete(name);
      location.reload();
    };
    if (!navigator.locks) return take();
    // Another page of this browser may be in a code.
    await navigator.locks.request(IN_CODE, { mode: 'exclusive', ifAvailable: true }, (lock) => (lock ? take() : undefined));
  }
}

export const updates = new Updates();
