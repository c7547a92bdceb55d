//! A dose before arrival that was told on standby, where there is no code time yet: "3 minutes ago" becomes a place on the
//! code's clock only when that clock starts.

/** A dose as told: in which code, and when it was given on the server's clock. */
export interface ToldDose {
  code: string;
  given_server_ms: number;
}

/** Said with more difference than this, the time on the record is corrected. */
const WORTH_SAYING_MS = 1_000;

/**
 * The dose's code time once the clock runs, or null where nothing is to be said: another code, still on standby, or the
 * record has it right already.
 */
export function doseOnTheClock(told: ToldDose, code: string, epoch_ms: number | null, recorded_ms: number): number | null {
  if (told.code !== code || epoch_ms === null) return null;
  const at_ms = Math.round(told.given_server_ms - epoch_ms);
  return Math.abs(at_ms - recorded_ms) > WORTH_SAYING_MS ? at_ms : null;
}
