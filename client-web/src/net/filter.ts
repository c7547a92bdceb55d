//! The arithmetic of a clock exchange and the minimum-delay filter (RFC 5905 sections 8 and 10). Pure: it reads no
//! clock and knows no socket.

/** The four timestamps: T1 and T4 on the tablet's clock, T2 and T3 on the server's. */
export interface Exchange {
  sent_ms: number;
  received_ms: number;
  replied_ms: number;
  answered_ms: number;
}

/** What one exchange says. `offset_ms` is added to the tablet's clock to get the server's. */
export interface Sample {
  offset_ms: number;
  delay_ms: number;
  taken_ms: number;
}

/** theta = ((T2-T1)+(T3-T4))/2 and delta = (T4-T1)-(T3-T2). */
export function sampleOf(exchange: Exchange): Sample {
  const { sent_ms, received_ms, replied_ms, answered_ms } = exchange;
  return {
    offset_ms: (received_ms - sent_ms + (replied_ms - answered_ms)) / 2,
    delay_ms: answered_ms - sent_ms - (replied_ms - received_ms),
    taken_ms: answered_ms,
  };
}

/** How many samples the filter keeps: RFC 5905's NSTAGE. */
const STAGES = 8;
/** How fast a clock may wander: RFC 5905's PHI, 15 parts in a million. */
const WANDER = 15e-6;
/** Fresh answers needed before the clock counts as known again. */
export const FRESH_NEEDED = 3;

/** The last samples, and the best of them: the one with the smallest error bound, so the least delay. */
export class ClockFilter {
  #samples: Sample[] = [];
  /** The last good offset, kept for showing while the filter fills again. */
  #held: Sample | null = null;

  /** Takes a sample. Impossible ones (a negative delay) are dropped. */
  add(sample: Sample): void {
    if (!Number.isFinite(sample.offset_ms) || !Number.isFinite(sample.delay_ms) || sample.delay_ms < 0) return;
    this.#samples.push(sample);
    if (this.#samples.length > STAGES) this.#samples.shift();
  }

  /** Forgets all samples: this device's clock jumped, or it slept. What was known stays as a guess. */
  empty(): void {
    const best = this.#bestFresh(Infinity);
    if (best && this.sure) this.#held = best;
    this.#samples = [];
  }

  /** Forgets all, what was held as well. */
  forget(): void {
    this.#samples = [];
    this.#held = null;
  }

  /** Gives a first guess, such as the server's time in its greeting, until an exchange is better. */
  guess(offset_ms: number, taken_ms: number, error_ms: number): void {
    this.#held ??= { offset_ms, delay_ms: 2 * error_ms, taken_ms };
  }

  /** Whether enough fresh answers are in. */
  get sure(): boolean {
    return this.#samples.length >= FRESH_NEEDED;
  }

  /** The offset in use and how far it may be off at `now_ms` of the tablet's clock; null if nothing is known. */
  estimate(now_ms: number): { offset_ms: number; error_ms: number } | null {
    const best = this.sure || !this.#held ? this.#bestFresh(now_ms) : this.#held;
    if (!best) return null;
    return { offset_ms: best.offset_ms, error_ms: this.#bound(best, now_ms) };
  }

  #bound(sample: Sample, now_ms: number): number {
    const age_ms = Number.isFinite(now_ms) ? Math.max(0, now_ms - sample.taken_ms) : 0;
    return sample.delay_ms / 2 + age_ms * WANDER;
  }

  #bestFresh(now_ms: number): Sample | null {
    let best: Sample | null = null;
    for (const sample of this.#samples) {
      if (!best || this.#bound(sample, now_ms) <= this.#bound(best, now_ms)) best = sample;
    }
    return best;
  }
}

/** A difference between wall clock and running clock that grows by more than this is a jump. */
const JUMP_MS = 250;

/** Watches Date.now against performance.now: their difference stays the same unless one of them jumped. */
export class JumpWatch {
  #difference_ms: number | null = null;

  /** Whether a jump lies between the last look and this one. */
  jumped(wall_ms: number, running_ms: number): boolean {
    const difference_ms = wall_ms - running_ms;
    const last_ms = this.#difference_ms;
    this.#difference_ms = difference_ms;
    return last_ms !== null && Math.abs(difference_ms - last_ms) > JUMP_MS;
  }
}

/** Corrections larger than this are shown as a jump. */
export const SHOWN_JUMP_MS = 1000;
/** How fast small corrections are worked off, in milliseconds per millisecond. */
const SLEW = 0.5;

/** Code time as shown: it follows the estimate, but never steps back for a small correction. */
export class SlewedTime {
  #shown_ms: number | null = null;
  #read_at_ms = 0;
  /** The last correction that was shown as a jump, for the screen to say so. */
  jump: { from_ms: number; to_ms: number } | null = null;

  /** Starts anew, with another code or another epoch. */
  reset(): void {
    this.#shown_ms = null;
    this.jump = null;
  }

  /** What to show when the tablet's clock reads `local_ms` and the estimate says `target_ms`. */
  read(local_ms: number, target_ms: number): number {
    if (this.#shown_ms === null) {
      this.#shown_ms = target_ms;
      this.#read_at_ms = local_ms;
      return target_ms;
    }
    const passed_ms = Math.max(0, local_ms - this.#read_at_ms);
    const expected_ms = this.#shown_ms + passed_ms;
    const off_ms = target_ms - expected_ms;
    this.#read_at_ms = local_ms;
    if (Math.abs(off_ms) > SHOWN_JUMP_MS) {
      this.jump = { from_ms: expected_ms, to_ms: target_ms };
      this.#shown_ms = target_ms;
    } else {
      const limit_ms = passed_ms * SLEW;
      this.#shown_ms = expected_ms + Math.min(limit_ms, Math.max(-limit_ms, off_ms));
    }
    return this.#shown_ms;
  }
}
