//! Slips of the hand: a tap that came twice, and one that came late. It decides neither what is recorded nor when it was.
import type { Event, Hands } from '../wire/generated';

/** Two equal taps within so long are one: nothing that a team does happens twice in it. Ours. */
export const DOUBLE_MS = 700;
/** How far back one tap catches up. */
export const CATCH_UP_MS = 10_000;

/** A tap that was taken. */
export interface Taken {
  id: string;
  event: Event;
  /** performance.now() of the page that took it. */
  taken_ms: number;
}

/** Whether a tap only repeats the last one. */
export function repeats(event: Event, last: Taken | null, now_ms: number): boolean {
  return last !== null && now_ms - last.taken_ms < DOUBLE_MS && JSON.stringify(event) === JSON.stringify(last.event);
}

/**
 * How long ago a start or stop of compressions may have been that somebody taps only now: null where it would stand before the
 * last change on the record, or before the arrest. Undefined for what is not caught up with by one tap.
 */
export function catchUp_ms(event: Event, hands: Hands, now_ms: number): number | null | undefined {
  if (event.kind !== 'compressions_started' && event.kind !== 'compressions_stopped') return undefined;
  const then_ms = now_ms - CATCH_UP_MS;
  return then_ms > (hands.observed.since_ms ?? 0) ? CATCH_UP_MS : null;
}

/** What is held and not tapped: it ends the code or the arrest, or counts towards drugs and energies. */
export function grave(kind: Event['kind']): boolean {
  return kind === 'shock_delivered' || kind === 'rosc' || kind === 'death_declared' || kind === 'code_closed';
}
