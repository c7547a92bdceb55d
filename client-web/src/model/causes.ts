//! What the record says of each reversible cause. A code that changed its guideline has causes under both guidelines' words.

/** A cause as a list shows it; `also` are other protocols' words for it on the record. */
interface Listed {
  readonly id: string;
  readonly also?: readonly string[];
}

/** A record, as far as it matters here. */
interface Recorded {
  readonly id: string;
  readonly event: { readonly kind: string; readonly cause?: unknown; readonly target?: unknown };
}

/** By the listed cause's id: whether it was considered, or treated. What was struck out counts for nothing. */
export function causesDone(timeline: readonly Recorded[], causes: readonly Listed[]): Map<string, 'considered' | 'treated'> {
  const voided = new Set(timeline.filter(({ event }) => event.kind === 'voided').map(({ event }) => event.target));
  const done = new Map<string, 'considered' | 'treated'>();
  for (const { id, event } of timeline) {
    if (voided.has(id) || typeof event.cause !== 'string') continue;
    const word = event.cause;
    const listed = causes.find((cause) => cause.id === word || cause.also?.includes(word));
    if (!listed) continue;
    if (event.kind === 'cause_treated') done.set(listed.id, 'treated');
    else if (event.kind === 'cause_considered' && !done.has(listed.id)) done.set(listed.id, 'considered');
  }
  return done;
}
