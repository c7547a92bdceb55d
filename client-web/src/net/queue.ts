//! Taps that the server has not answered yet. They outlive a reload: what was tapped is kept until `recorded` or
//! `refused`. It must not change a tap once it was sent: the same id always carries the same content.
import type { Event } from '../wire/generated';

/** One tap, as it was made. */
export interface Tap {
  id: string;
  code: string;
  /** The tap's own code time. */
  at_ms: number;
  clock_error_ms: number;
  event: Event;
  /** The prompts that it does, by key, so that they vanish at once. */
  does: string[];
  /** The view on which it was made. */
  seen: string;
  /** Server time of the tap, for a clock start that had to wait. */
  server_ms: number;
  /** Whether it was ever handed to a socket. */
  sent: boolean;
}

/** The part of a browser's storage that is used. */
export interface Store {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
}

const KEY = 'coxswain.taps';

/** Unanswered taps in the order in which they were made. */
export class TapQueue {
  #taps: Tap[];
  readonly #store: Store | null;

  constructor(store: Store | null) {
    this.#store = store;
    this.#taps = read(store);
  }

  /** All of them, oldest first. */
  get taps(): readonly Tap[] {
    return this.#taps;
  }

  /** Keeps a tap. */
  add(tap: Tap): void {
    this.#taps = [...this.#taps, tap];
    this.#save();
  }

  /** The answer came: `recorded`, or a refusal, which is final. Returns the tap, if it was ours. */
  answered(id: string): Tap | null {
    const tap = this.#taps.find((one) => one.id === id) ?? null;
    if (tap) {
      this.#taps = this.#taps.filter((one) => one.id !== id);
      this.#save();
    }
    return tap;
  }

  /** Hands every tap to `send`, oldest first: after each reconnect, and harmless to repeat. */
  resend(send: (tap: Tap) => boolean, server_ms: number): void {
    for (const tap of this.#taps) this.send(tap, send, server_ms);
  }

  /** Hands one tap to `send` and remembers that it went out. */
  send(tap: Tap, send: (tap: Tap) => boolean, server_ms: number): void {
    if (!tap.sent) settleClockStart(tap, server_ms);
    if (send(tap) && !tap.sent) {
      tap.sent = true;
      this.#save();
    }
  }

  #save(): void {
    try {
      this.#store?.setItem(KEY, JSON.stringify(this.#taps));
    } catch {
      // A full or forbidden storage must not stop the code; the queue in memory still counts.
    }
  }
}

/** A clock start that waited for the link says by how much, or the code's clock would be behind by that. */
function settleClockStart(tap: Tap, server_ms: number): void {
  const event = tap.event;
  if (event.kind !== 'clock_started') return;
  const waited_ms = Math.round(server_ms - tap.server_ms);
  if (waited_ms > 250) {
    tap.event = { ...event, recognised_ago_ms: (event.recognised_ago_ms ?? 0) + waited_ms };
    tap.server_ms = server_ms;
  }
}

function read(store: Store | null): Tap[] {
  try {
    const kept: unknown = JSON.parse(store?.getItem(KEY) ?? '[]');
    return Array.isArray(kept) ? kept.filter(isTap) : [];
  } catch {
    return [];
  }
}

function isTap(value: unknown): value is Tap {
  if (typeof value !== 'object' || value === null) return false;
  const tap = value as Partial<Tap>;
  return (
    typeof tap.id === 'string' &&
    typeof tap.code === 'string' &&
    typeof tap.at_ms === 'number' &&
    typeof tap.event === 'object' &&
    Array.isArray(tap.does)
  );
}
