//! The facts of a code as they count, with every correction applied by the server. Pure; it decides nothing.
import type { Event, RecordShown, ReviewedCode } from '../../wire/generated';

/** Records that are no facts: corrections, and what reviewers did. */
const NO_FACTS: readonly Event['kind'][] = ['amended', 'voided', 'clock_corrected', 'reviewed'];

/** One fact: what happened, and when, as it counts. */
export interface Fact {
  id: string;
  at_ms: number;
  event: Event;
  shown: RecordShown;
}

export const isFact = (event: Event): boolean => !NO_FACTS.includes(event.kind);
export const atOf = (shown: RecordShown): number => shown.now_at_ms ?? shown.record.at_ms;
export const eventOf = (shown: RecordShown): Event => shown.now_event ?? shown.record.event;

/** A chain may hold a record twice: the first of them is the record. */
export function firstOfEach(records: readonly RecordShown[]): RecordShown[] {
  const known = new Set<string>();
  return records.filter(({ record }) => !known.has(record.id) && known.add(record.id));
}

/** What counts, in order of time. */
export function factsOf(code: ReviewedCode): Fact[] {
  return firstOfEach(code.records)
    .filter((shown) => shown.counts && isFact(shown.record.event))
    .map((shown) => ({ id: shown.record.id, at_ms: atOf(shown), event: eventOf(shown), shown }))
    .sort((one, other) => one.at_ms - other.at_ms || one.shown.record.seq - other.shown.record.seq);
}
