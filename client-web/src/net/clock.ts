//! This page's estimate of server time and of code time. One owner of the filter; digits are read from here at each
//! frame and never counted.
import type { AxisSample } from '../sound/beats';
import { ClockFilter, JumpWatch, SlewedTime, sampleOf } from './filter';

/** How far off the server's greeting may be, as a first guess. */
const GREETING_ERROR_MS = 1500;
/** How far off the wall clock may have been set since the server was last heard: its own correction, not a person's. */
const REMEMBERED_ERROR_MS = 2000;

export class PageClock {
  readonly #filter = new ClockFilter();
  readonly #watch = new JumpWatch();
  readonly #shown = new SlewedTime();
  #rate = 1;
  #remembered = false;
  #shownFor = '';

  /** Server milliseconds per real millisecond: 1, except in a demonstration that runs faster. */
  setRate(rate: number | undefined): void {
    const next = rate !== undefined && Number.isFinite(rate) && rate > 0 ? rate : 1;
    if (next === this.#rate) return;
    this.#rate = next;
    this.#filter.empty();
    this.#shown.reset();
  }

  /** The tablet's clock for exchanges and for code time. */
  local_ms(): number {
    return performance.now() * this.#rate;
  }

  /** The server's time as the wall clock has it, after a start without the server. Its greeting knows better. */
  remembered(server_ms: number): void {
    const local_ms = this.local_ms();
    this.#filter.guess(server_ms - local_ms, local_ms, REMEMBERED_ERROR_MS);
    this.#remembered = true;
  }

  /** A first guess from the greeting. */
  greeted(server_ms: number): void {
    const local_ms = this.local_ms();
    if (this.#remembered) this.#filter.forget();
    this.#remembered = false;
    this.#filter.guess(server_ms - local_ms, local_ms, GREETING_ERROR_MS);
  }

  /** An answer to a ping. */
  answered(sent_ms: number, received_ms: number, replied_ms: number, running_ms: number): void {
    this.#filter.add(sampleOf({ sent_ms, received_ms, replied_ms, answered_ms: running_ms * this.#rate }));
  }

  /** Looks for a jump; true if the filter was emptied. */
  check(): boolean {
    if (!this.#watch.jumped(Date.now(), performance.now())) return false;
    this.#filter.empty();
    return true;
  }

  /** The page was hidden or the device slept: learn the clock again. */
  doubt(): void {
    this.#filter.empty();
  }

  /** Whether enough fresh answers are in. */
  get sure(): boolean {
    return this.#filter.sure;
  }

  /** Server time now and how far it may be off; null before the server was ever heard. */
  server(): { ms: number; error_ms: number } | null {
    const local_ms = this.local_ms();
    const known = this.#filter.estimate(local_ms);
    return known && { ms: local_ms + known.offset_ms, error_ms: known.error_ms };
  }

  /** Code time as shown, and how far it may be off. 0 on standby. */
  code(code: string, epoch_ms: number | null): { ms: number; error_ms: number } {
    const server = this.server();
    if (epoch_ms === null || !server) return { ms: 0, error_ms: server?.error_ms ?? GREETING_ERROR_MS };
    const about = `${code} ${epoch_ms}`;
    if (this.#shownFor !== about) {
      this.#shownFor = about;
      this.#shown.reset();
    }
    const target_ms = server.ms - epoch_ms;
    const ms = this.#shown.read(this.local_ms(), target_ms);
    return { ms, error_ms: server.error_ms + Math.abs(target_ms - ms) };
  }

  /**
   * Real time since recognition, and the moment of performance.now() at which it was that: what the beat is made of. As it is
   * estimated, not slewed: who follows it bends in ways of its own. Null on standby, or before the server was ever heard.
   */
  axis(epoch_ms: number | null): AxisSample | null {
    const running_ms = performance.now();
    const known = this.#filter.estimate(running_ms * this.#rate);
    if (epoch_ms === null || !known) return null;
    return { axis_ms: running_ms + (known.offset_ms - epoch_ms) / this.#rate, running_ms };
  }

  /** Server milliseconds per real one. */
  get rate(): number {
    return this.#rate;
  }

  /** A correction that was shown as a jump, once. */
  takeJump(): { from_ms: number; to_ms: number } | null {
    const jump = this.#shown.jump;
    this.#shown.jump = null;
    return jump;
  }
}
