//! What there is to be said aloud at a moment, and in which order it is said. Pure: it knows no voice. It says what the screens
//! show, and nothing of its own: an order that hands are off begins with something a person recorded.
import type { HandsSaying } from '../model/hands';
import type { Prompt, ViewMessage } from '../wire/generated';

/** What is said first: what the hands do now, then what comes, then what is due. */
export const URGENCIES = ['hands', 'ahead', 'due'] as const;
export type SayUrgency = (typeof URGENCIES)[number];

/** The sentences. Each has a label `say.…`. */
export type Sentence =
  | { what: 'compress' | 'clear' | 'clear_mechanical' | 'pause' }
  | { what: 'check_ahead'; at_ms: number }
  | { what: 'drug_ahead'; drug: string; at_ms: number }
  | { what: 'drug_due'; drug: string };

/** Something to be said once. Times are code time. */
export interface Saying {
  /** Said once under this name. */
  key: string;
  urgency: SayUrgency;
  sentence: Sentence;
  from_ms: number;
  /** From here on it is old, and never said. */
  stale_ms: number;
}

/** An order is news for this long; a page that opens later does not call it out. */
const HANDS_FRESH_MS = 3_000;
/** What lies ahead is said within this time of its showing, or not at all. */
const AHEAD_FRESH_MS = 12_000;
/** Nearer than this the thing itself is said by the hands line. */
const TOO_NEAR_MS = 3_000;
/** A dose that was due is said within this time. */
const DUE_FRESH_MS = 10_000;

type SaidView = Pick<ViewMessage, 'phase' | 'hands' | 'drugs'>;

/** All that could be said now. `hands` is what the hands line shows, so that voice and screen never differ. */
export function sayable(view: SaidView, prompts: readonly Prompt[], hands: HandsSaying, now_ms: number): Saying[] {
  // Without the server, on standby and after return of circulation nothing is called out.
  if (view.phase !== 'arrest' || hands.kind === 'unknown' || hands.kind === 'idle') return [];
  const sayings: Saying[] = [];
  const what = hands.kind === 'clear' && hands.mechanical ? 'clear_mechanical' : hands.kind;
  // A pause that ran out becomes `compress` at its end, also before the server's next view says so.
  const from_ms = hands.kind === 'compress' && view.hands.now !== 'compress' ? (view.hands.until_ms ?? view.hands.since_ms) : view.hands.since_ms;
  sayings.push({ key: `${hands.kind}@${from_ms}`, urgency: 'hands', sentence: { what }, from_ms, stale_ms: from_ms + HANDS_FRESH_MS });
  for (const prompt of prompts) {
    const { of, of_at_ms, drug } = prompt.detail;
    if (prompt.action !== 'announce' || of_at_ms === undefined || now_ms < prompt.show_at_ms) continue;
    const sentence: Sentence | null = of === 'pause_for_check' ? { what: 'check_ahead', at_ms: of_at_ms }
      : of === 'give_drug' && drug !== undefined ? { what: 'drug_ahead', drug, at_ms: of_at_ms } : null;
    if (sentence === null) continue;
    const stale_ms = Math.min(prompt.show_at_ms + AHEAD_FRESH_MS, of_at_ms - TOO_NEAR_MS);
    sayings.push({ key: prompt.key, urgency: 'ahead', sentence, from_ms: prompt.show_at_ms, stale_ms });
  }
  for (const line of view.drugs) {
    if (line.due_at_ms === undefined || line.withheld === true || line.waits === true || now_ms < line.due_at_ms) continue;
    // By its number, so that a time that moves by a second does not say it twice.
    sayings.push({ key: `${line.drug}:${line.doses}`, urgency: 'due', sentence: { what: 'drug_due', drug: line.drug }, from_ms: line.due_at_ms, stale_ms: line.due_at_ms + DUE_FRESH_MS });
  }
  return sayings;
}

/** How many names of what was said are kept. */
const REMEMBERED = 200;

/** Says one thing at a time, the most urgent first, each once. What is old or no longer so is dropped unsaid. */
export class SayQueue {
  #said: string[] = [];
  #speaking: Saying | null = null;

  /** What is being said. */
  get speaking(): Saying | null {
    return this.#speaking;
  }

  /**
   * What to begin to say now; null to leave things as they are. While something is said only a new order for the hands cuts
   * in: `cut` says that the voice stops first, so that there are never two.
   */
  next(sayable: readonly Saying[], now_ms: number): { saying: Saying; cut: boolean } | null {
    const waiting = sayable.filter((one) => now_ms >= one.from_ms && now_ms < one.stale_ms && !this.#said.includes(one.key));
    const order = (one: Saying): number => URGENCIES.indexOf(one.urgency);
    const best = [...waiting].sort((one, other) => order(one) - order(other) || one.from_ms - other.from_ms)[0];
    if (best === undefined || (this.#speaking !== null && best.urgency !== 'hands')) return null;
    const cut = this.#speaking !== null;
    this.#speaking = best;
    this.#said = [...this.#said.slice(1 - REMEMBERED), best.key];
    return { saying: best, cut };
  }

  /** The voice fell silent, or was made to. */
  ended(key: string): void {
    if (this.#speaking?.key === key) this.#speaking = null;
  }
}
