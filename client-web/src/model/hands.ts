//! What the hands line says now. It shows the server's order; without a link it stops ordering after 3 s. It never
//! makes an order of its own, but for the one that the server wrote into the view: `until_ms`, when a pause or a
//! clear becomes `compress` by itself.
import type { Hands, Phase } from '../wire/generated';

/** Without a link for longer than this the line orders nothing. */
export const LINK_GRACE_MS = 3000;

/** What to draw. */
export type HandsSaying =
  | { kind: 'compress'; overdue: boolean }
  | { kind: 'clear'; mechanical: boolean; left_ms: number | null }
  | { kind: 'pause'; left_ms: number | null }
  | { kind: 'idle'; phase: 'standby' | 'rosc' | 'closed' }
  | { kind: 'unknown'; last: 'compress' | 'clear' | 'pause' | 'none'; ago_ms: number };

/** `lost_ms` is for how long the link has been lost; null while it is up. */
export function handsSaying(hands: Hands, phase: Phase, now_ms: number, lost_ms: number | null): HandsSaying {
  if (phase === 'closed') return { kind: 'idle', phase: 'closed' };
  if (lost_ms !== null && lost_ms >= LINK_GRACE_MS && phase === 'arrest') {
    return { kind: 'unknown', last: hands.now, ago_ms: lost_ms };
  }
  if (hands.now === 'none') return { kind: 'idle', phase: phase === 'rosc' ? 'rosc' : 'standby' };
  if (hands.now === 'compress') return { kind: 'compress', overdue: hands.overdue };
  const left_ms = hands.until_ms === undefined ? null : hands.until_ms - now_ms;
  // The server's next view says the same; this only bridges the moment until it is here.
  if (left_ms !== null && left_ms <= 0) return { kind: 'compress', overdue: true };
  if (hands.now === 'clear') {
    return { kind: 'clear', mechanical: hands.observed.by === 'mechanical' && hands.observed.compressing, left_ms };
  }
  return { kind: 'pause', left_ms };
}
