//! The running compression fraction, carried on from the last view's two sums. Pure.
import type { Observed, Phase, Running } from '../wire/generated';

/** Share of the arrest with compressions, at `now_ms`; null before there is an arrest to measure. */
export function runningFraction(
  running: Running,
  observed: Observed,
  phase: Phase,
  at_ms: number,
  now_ms: number,
): number | null {
  const passed_ms = phase === 'arrest' ? Math.max(0, now_ms - at_ms) : 0;
  const arrest_ms = running.arrest_ms + passed_ms;
  if (arrest_ms <= 0) return null;
  const compressed_ms = running.compressed_ms + (observed.compressing ? passed_ms : 0);
  return Math.min(1, compressed_ms / arrest_ms);
}
