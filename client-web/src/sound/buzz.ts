//! When the tablet shakes: once when a task of its own role becomes due, once more when it is late. Pure.
import type { Urgency } from '../model/tasks';

/** A role's main task now. */
export interface Felt {
  key: string;
  urgency: Urgency;
}

/** Milliseconds of shaking and rest, as the browser takes them. */
const DUE = [180];
const LATE = [180, 120, 180, 120, 180];
const REMEMBERED = 100;

export class Buzz {
  #felt: string[] = [];

  /** The pattern to shake now; null for none. */
  next(tasks: readonly Felt[]): number[] | null {
    const fresh = tasks.filter((one) => (one.urgency === 'medium' || one.urgency === 'high') && !this.#felt.includes(`${one.urgency} ${one.key}`));
    if (fresh.length === 0) return null;
    this.#felt = [...this.#felt, ...fresh.map((one) => `${one.urgency} ${one.key}`)].slice(-REMEMBERED);
    return fresh.some((one) => one.urgency === 'high') ? LATE : DUE;
  }
}
