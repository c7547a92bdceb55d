//! When the beats of compressions fall, on any tablet alike. Pure: it reads no clock and makes no sound.
//!
//! The axis is real time since recognition, from the synchronised clock: beat n falls at n periods. It is not counted from the
//! start of compressions, because that start reaches each tablet with another view, may be corrected later, and is unknown
//! to a tablet that joins or has just lost the link; recognition never moves, and a view carries it (`epoch_ms`) from the
//! first moment on. So every tablet has the same phase without ever speaking with another, and keeps it through pauses,
//! reloads and a lost link. What is lost is a first beat at the very moment of the restart: it comes within one period.

/** The synchronised clock read once: real milliseconds since recognition at a moment of performance.now(). */
export interface AxisSample {
  axis_ms: number;
  running_ms: number;
}

/** One beat: its number on the axis, and when it falls, by performance.now(). */
export interface Beat {
  number: number;
  running_ms: number;
}

/**
 * How much of a period a correction of the clock may lengthen or shorten one beat: 110 a minute stays within 105.8 and
 * 114.6, inside the published 100 to 120, and nobody hears a beat too many or one missing.
 */
const BEND = 0.04;

/**
 * Follows the axis from beat to beat. The first beat lies on it exactly; each further one comes a period after the last, bent
 * by at most `BEND` towards the axis. So a clock that is corrected, slewed or jumps neither doubles nor drops a beat:
 * the beat glides to its place, by the shorter way round.
 */
export class BeatFollower {
  #last: Beat | null = null;

  constructor(readonly period_ms: number) {}

  /** Begins anew at the next beat on the axis. */
  reset(): void {
    this.#last = null;
  }

  /** The beats from `from_ms` to `until_ms` of performance.now() that were not yet given. What is past is not given later. */
  take(sample: AxisSample, from_ms: number, until_ms: number): Beat[] {
    const beats: Beat[] = [];
    // A page that slept for long finds its place on the axis again instead of counting through the gap.
    if (this.#last && from_ms - this.#last.running_ms > 20 * this.period_ms) this.#last = null;
    for (;;) {
      const next = this.#last ? this.#after(this.#last, sample) : this.#first(sample, from_ms);
      if (next.running_ms > until_ms) return beats;
      this.#last = next;
      if (next.running_ms >= from_ms) beats.push(next);
    }
  }

  #first(sample: AxisSample, from_ms: number): Beat {
    const number = Math.ceil((sample.axis_ms + from_ms - sample.running_ms) / this.period_ms);
    return { number, running_ms: sample.running_ms + number * this.period_ms - sample.axis_ms };
  }

  #after(last: Beat, sample: AxisSample): Beat {
    const expected_ms = last.running_ms + this.period_ms;
    const axis_ms = sample.axis_ms + expected_ms - sample.running_ms;
    const number = Math.round(axis_ms / this.period_ms);
    const limit_ms = this.period_ms * BEND;
    const off_ms = number * this.period_ms - axis_ms;
    return { number, running_ms: expected_ms + Math.min(limit_ms, Math.max(-limit_ms, off_ms)) };
  }
}

/** Where in the period a moment lies, from 0 (on the beat) to 1: what the beat on the screen shows. */
export function phaseAt(sample: AxisSample, running_ms: number, period_ms: number): number {
  const beats = (sample.axis_ms + running_ms - sample.running_ms) / period_ms;
  return beats - Math.floor(beats);
}

/** A breath after every so many beats, and how long the breaths take: the protocol's ratio and gap. */
export interface Ratio {
  after_compressions: number;
  gap_s: number;
}

/**
 * Whether the cue for breaths falls on this beat: after each `after_compressions` beats since compressions started, the breaths' own
 * gap in between. Nobody taps the breaths, so that this is a count by the protocol, not a record of what was done.
 */
export function breathsFallOn(beat: number, since_axis_ms: number, period_ms: number, ratio: Ratio): boolean {
  const first = Math.ceil(since_axis_ms / period_ms);
  const passed = beat - first;
  if (passed < ratio.after_compressions) return false;
  const gap_beats = Math.ceil((ratio.gap_s * 1000) / period_ms);
  return (passed - ratio.after_compressions) % (ratio.after_compressions + gap_beats) === 0;
}
