//! What was typed of a code and is not saved yet: it outlives a change of tab, and the end of a session until the same person signs
//! in again. In memory only, and never shown to another account. It sends nothing.
import type { Kind } from '../../model/choices';
import type { CompressionSource, DebriefShown, Event, FollowUp, ReviewedCode } from '../../wire/generated';

export type Mode = 'amend' | 'void' | 'add' | 'align' | 'monitor';

/** A debrief as it is typed. */
interface Debrief {
  went_well: string;
  to_change: string;
  follow_ups: FollowUp[];
}
/** The form of a correction. */
interface Correction {
  mode: Mode | null;
  target: string | null;
  time: string;
  /** What the time was when the form opened. */
  time_before: string;
  reason: string;
  offset: string;
  kind: Kind;
  event: Event | null;
}
/** The forms about a monitor, with the file that was chosen. */
interface Monitor {
  name: string;
  csv: string;
  offset: string;
  zero: string;
  reason: string;
  chosen: string;
  from: string;
  to: string;
  source: CompressionSource;
  why: string;
}

const debriefOf = (shown: DebriefShown | undefined): Debrief => ({
  went_well: shown?.went_well ?? '', to_change: shown?.to_change ?? '', follow_ups: shown?.follow_ups.map((one) => ({ ...one })) ?? [],
});
const noCorrection = (): Correction => ({ mode: null, target: null, time: '', time_before: '', reason: '', offset: '', kind: 'compressions_stopped', event: null });
const noMonitor = (): Monitor => ({ name: '', csv: '', offset: '0', zero: '', reason: '', chosen: '', from: '', to: '', source: 'monitor', why: '' });

export class Typed {
  debrief = $state<Debrief>(debriefOf(undefined));
  correction = $state<Correction>(noCorrection());
  monitor = $state<Monitor>(noMonitor());
  version_reason = $state('');
  /** The debrief that the typed one began from, and the record it stood in. */
  #before = $state(JSON.stringify(debriefOf(undefined)));
  #began: string | undefined;

  /** Whether the debrief itself is not as it was kept. */
  get words_unsaved(): boolean {
    return JSON.stringify(this.debrief) !== this.#before;
  }
  get debrief_unsaved(): boolean {
    return this.words_unsaved || this.version_reason !== '';
  }
  get correction_unsaved(): boolean {
    const { mode, reason, offset, event, time, time_before } = this.correction;
    if (mode === 'monitor') return this.monitor.csv !== '' || this.monitor.reason !== '' || this.monitor.why !== '';
    return mode !== null && (reason !== '' || offset !== '' || event !== null || time !== time_before);
  }

  /** Takes the debrief that stands, unless something was typed. Returns the one that came between, if something was. */
  begin(code: ReviewedCode): DebriefShown | null {
    if (JSON.stringify(this.debrief) === this.#before) {
      this.took(code);
      return null;
    }
    const other = code.debrief && code.debrief.id !== this.#began ? code.debrief : null;
    this.#began = code.debrief?.id;
    return other;
  }
  /** What was typed of the debrief is on the record, or is dropped: the one that stands is shown. */
  took(code: ReviewedCode): void {
    this.debrief = debriefOf(code.debrief);
    this.#before = JSON.stringify(this.debrief);
    this.#began = code.debrief?.id;
  }
  /** A form of a correction, opened anew. */
  correct(mode: Mode | null, target: string | null = null, time = ''): void {
    this.correction = { ...noCorrection(), mode, target, time, time_before: time };
    if (mode === null) this.monitor = noMonitor();
  }
}

const kept = new Map<string, Typed>();
let owner: string | null = null;

/** What was typed of a code. */
export function typedOf(code: string): Typed {
  const typed = kept.get(code) ?? new Typed();
  kept.set(code, typed);
  return typed;
}
/** Who is signed in now: what another account typed is forgotten. */
export function typedBy(account: string): void {
  if (owner !== account) kept.clear();
  owner = account;
}
/** Whether anything is not saved yet, of any code. */
export const anyTyped = (): boolean => [...kept.values()].some((typed) => typed.debrief_unsaved || typed.correction_unsaved);
