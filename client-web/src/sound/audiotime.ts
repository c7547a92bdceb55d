//! Between the page's clock and the clock of its loudspeaker. Pure: it is told what both read. What is scheduled for a moment is
//! to be *heard* at it, so that the time from the sound card's buffer to the ear counts, where the platform tells it.

/** What an AudioContext says of itself at a moment of performance.now(). Seconds as it gives them. */
export interface Reading {
  running_ms: number;
  current_s: number;
  /** getOutputTimestamp(): what leaves the loudspeaker, and when; zeros or absent where the platform does not tell. */
  output?: { contextTime?: number; performanceTime?: number } | undefined;
  output_latency_s?: number | undefined;
  base_latency_s?: number | undefined;
}

/** How far the audio clock is ahead of the page's: added to performance.now() it gives the context's time that is heard then. */
export function aheadOf(reading: Reading): number {
  const { contextTime, performanceTime } = reading.output ?? {};
  // A time stamp counts once sound runs, and while it is fresh: some platforms hand out an old one after a pause.
  if (contextTime !== undefined && performanceTime !== undefined && contextTime > 0 && performanceTime > 0 &&
    Math.abs(reading.running_ms - performanceTime) < 1_000 && contextTime <= reading.current_s + 0.05) {
    return contextTime * 1000 - performanceTime;
  }
  const latency_s = [reading.output_latency_s, reading.base_latency_s].find((one) => one !== undefined && Number.isFinite(one) && one > 0) ?? 0;
  return (reading.current_s - latency_s) * 1000 - reading.running_ms;
}

/** Readings kept. At one in 25 ms that is about a second: the two clocks drift by microseconds in it. */
const KEPT = 41;
/** Fewer are not trusted: while sound begins, some platforms hand out times that are off by hundreds of milliseconds. */
const TRUSTED = 7;
/** So far off a reading is no wandering of the clocks. */
const ODD_MS = 80;

/** The middle of the last readings: an audio clock that moves a buffer at a time then gives a steady answer. */
export class AudioTime {
  #ahead_ms: number[] = [];
  /** Readings in a row that are far from what was known. */
  #odd = 0;

  /** Forgets all: sound was stopped and started again. */
  reset(): void {
    this.#ahead_ms = [];
    this.#odd = 0;
  }

  add(reading: Reading): void {
    const ahead_ms = aheadOf(reading);
    const middle_ms = this.#middle();
    // Another loudspeaker, such as a headset: all further readings agree on something else, and what was known is of no use. A single
    // one that is far off is a slip of the platform's.
    this.#odd = middle_ms !== null && Math.abs(ahead_ms - middle_ms) > ODD_MS ? this.#odd + 1 : 0;
    this.#ahead_ms.push(ahead_ms);
    if (this.#odd >= TRUSTED) this.#ahead_ms = this.#ahead_ms.slice(-TRUSTED);
    if (this.#ahead_ms.length > KEPT) this.#ahead_ms.shift();
  }

  /** The context's time, in seconds, that is heard at `running_ms`; null before there are enough readings. */
  at(running_ms: number): number | null {
    const middle_ms = this.#middle();
    return middle_ms === null || this.#ahead_ms.length < TRUSTED ? null : (running_ms + middle_ms) / 1000;
  }

  #middle(): number | null {
    if (this.#ahead_ms.length === 0) return null;
    const sorted = [...this.#ahead_ms].sort((one, other) => one - other);
    return sorted[Math.floor(sorted.length / 2)] ?? null;
  }
}
