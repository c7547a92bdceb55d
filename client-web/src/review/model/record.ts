//! The record as a list: every fact, counted or not, with what became of it; and what others added since one looked. Pure but
//! for the language.
import { eventText } from '../../model/speak';
import { clockText } from '../../model/format';
import { said, t, word } from '../../text';
import { r } from '../../text/review';
import type { Event, RecordShown, ReviewedCode } from '../../wire/generated';
import { atOf, eventOf, firstOfEach, isFact } from './facts';

/** A correction of a fact, in words. */
export interface Fix {
  id: string;
  words: string;
  /** Whether it stands: a correction may be taken back as well. */
  stands: boolean;
  /** Of a correction that was taken back: by whom, when and why. */
  taken_back: string | null;
  /** Whether it can be taken back by itself; a fact that was added is struck out instead. */
  back: boolean;
}

/** One fact. */
export interface Row {
  id: string;
  at_ms: number;
  words: string;
  /** As it was recorded, where that is not what counts. */
  was: string | null;
  struck: boolean;
  /** A tap that a choice of source set aside, or a monitor's start or stop that it brought: the one can be corrected, the other goes with the choice. */
  choice: 'set_aside' | 'brought' | null;
  /** After the closing: it stands on the record and counts for nothing. */
  beyond: boolean;
  by: string;
  source: RecordShown['record']['source'];
  fixes: Fix[];
  event: Event;
}

/** A fact in words. A task that was ticked off is named by what its key says of it: the role's own screen need not, a reader must. */
export function factText(event: Event, code: ReviewedCode): string {
  // What can be corrected of an opening: else nobody sees what it was.
  if (event.kind === 'code_opened') return t('app.of', { label: eventText(event), what: [event.location ?? r('review.place.unknown'), r(event.training ? 'review.training' : 'review.real')].join(', ') });
  if (event.kind === 'drug_given' && event.form === 'infusion') return `${eventText(event)}, ${r('review.infusion')}`;
  if (event.kind !== 'task_done') return eventText(event);
  const [, action = '', detail] = /^(\w+)@[^:]*(?::(.*))?$/.exec(event.prompt) ?? [];
  const label = eventText(event);
  if (action === 'announce') return t('app.of', { label, what: detail === undefined ? t('reason.rhythm_check') : word('drug', detail) });
  const title = detail === undefined ? undefined : code.rules.tasks[detail];
  return title === undefined ? label : t('app.of', { label, what: said(title) });
}

/** By the clock of UTC, to the minute. */
const whenText = (at: string): string => at.replace('T', ' ').slice(0, 16);

/** Who corrected, when and why. */
function fixText({ record }: RecordShown, deed: 'amended' | 'voided' | 'taken_back'): string {
  const event = record.event;
  const reason = event.kind === 'amended' || event.kind === 'voided' ? event.reason : '';
  return r(`review.fix.${deed}`, { name: record.by.name, when: whenText(record.recorded_at), reason });
}

function fixOf(fix: RecordShown, byId: ReadonlyMap<string, RecordShown>): Fix {
  const back = fix.counts ? undefined : fix.corrected_by.map((id) => byId.get(id)).find((one) => one?.counts && one.record.event.kind === 'voided');
  const words = fixText(fix, fix.record.event.kind === 'voided' ? 'voided' : 'amended');
  return { id: fix.record.id, words, stands: fix.counts, taken_back: back ? fixText(back, 'taken_back') : null, back: true };
}

/** What reviewers did to the whole record rather than to a fact of it, and counts: clock times that were moved, files of monitors, and whose compressions count. */
export function othersOf(code: ReviewedCode): string[] {
  const files = new Map(code.imports.map((one) => [one.id, one.name]));
  return code.records.filter((shown) => shown.counts).flatMap(({ record }) => {
    const { event } = record;
    const who = { name: record.by.name, when: whenText(record.recorded_at) };
    if (event.kind === 'clock_corrected') return [r('review.other.aligned', { ...who, seconds: (event.to_ms - event.from_ms) / 1000, reason: event.basis })];
    if (event.kind !== 'reviewed') return [];
    const { deed } = event;
    if (deed.what === 'monitor_imported') return [r('review.other.imported', { ...who, file: deed.name, reason: deed.reason })];
    if (deed.what === 'source_chosen') {
      // Made anew, it is still the choice of whoever made it.
      const first = code.records.find((one) => one.record.id === deed.renews)?.record ?? record;
      const stretch = { name: first.by.name, when: whenText(first.recorded_at), from: clockText(deed.from_ms), to: clockText(deed.to_ms), reason: deed.reason };
      return [deed.import === undefined ? r('review.other.taps', stretch) : r('review.other.chosen', { ...stretch, file: files.get(deed.import) ?? '' })];
    }
    return [];
  });
}

/** The records that choices of source are made of, standing or taken back: what each brought, and the voids of taps and of other choices. */
function partsOf(code: ReviewedCode): ReadonlySet<string> {
  const parts = new Set<string>();
  for (const { record } of code.records) {
    if (record.event.kind !== 'reviewed' || record.event.deed.what !== 'source_chosen') continue;
    parts.add(record.id);
    record.event.deed.records.forEach((id) => parts.add(id));
  }
  // A void comes after what it names.
  for (const { record } of code.records) if (record.event.kind === 'voided' && parts.has(record.event.target)) parts.add(record.id);
  return parts;
}

/** All facts in order of the time that counts; without what choices brought that were taken back or made anew since. */
export function rowsOf(code: ReviewedCode): Row[] {
  const byId = new Map(code.records.map((shown) => [shown.record.id, shown]));
  const added = new Map(code.records.flatMap(({ record }) => (record.event.kind === 'reviewed' && record.event.deed.what === 'added' ? [[record.event.deed.target, record] as const] : [])));
  const parts = partsOf(code);
  return firstOfEach(code.records)
    .filter((shown) => isFact(shown.record.event) && shown.by_choice !== 'taken_back')
    .map((shown) => {
      const by_hand = shown.corrected_by.filter((id) => !parts.has(id));
      const choice = shown.by_choice === 'set_aside' || shown.by_choice === 'brought' ? shown.by_choice : null;
      const at_ms = atOf(shown);
      const event = eventOf(shown);
      const words = factText(event, code);
      const before = `${clockText(shown.record.at_ms)} ${factText(shown.record.event, code)}`;
      const now = `${clockText(at_ms)} ${words}`;
      const fixes: Fix[] = by_hand.flatMap((id) => {
        const fix = byId.get(id);
        return fix ? [fixOf(fix, byId)] : [];
      });
      const voided = by_hand.some((id) => { const fix = byId.get(id); return fix?.counts === true && fix.record.event.kind === 'voided'; });
      const addition = added.get(shown.record.id);
      if (addition?.event.kind === 'reviewed' && addition.event.deed.what === 'added') {
        const fill = { name: addition.by.name, when: whenText(addition.recorded_at), reason: addition.event.deed.reason };
        fixes.unshift({ id: addition.id, words: r('review.fix.added', fill), stands: shown.counts || choice === 'set_aside', taken_back: null, back: false });
      }
      return {
        id: shown.record.id, at_ms, words, was: at_ms === shown.record.at_ms && before === now ? null : before, struck: voided, choice, beyond: !shown.counts && !voided && choice !== 'set_aside',
        by: shown.record.by.name, source: shown.record.source, fixes, event,
      };
    })
    .sort((one, other) => one.at_ms - other.at_ms);
}

/** What stands in `now` and did not in `before`, in words: who did what while somebody else was typing. */
export function addedSince(before: ReviewedCode, now: ReviewedCode): string[] {
  const known = new Set(before.records.map((shown) => shown.record.id));
  // What a choice of source is made of is told by the choice, one that was made anew by what changed beside it, and the reason of an added fact by the fact.
  const parts = partsOf(now);
  const tells = ({ event, id }: RecordShown['record']): boolean =>
    event.kind === 'reviewed' ? event.deed.what !== 'added' && !(event.deed.what === 'source_chosen' && event.deed.renews !== undefined) : !parts.has(id);
  const told = now.records.filter(({ record }) => !known.has(record.id) && tells(record));
  return told.map(({ record }) => addedText(record.event, record.by.name, now));
}

function addedText(event: Event, name: string, code: ReviewedCode): string {
  if (event.kind === 'amended' || event.kind === 'voided') {
    const target = code.records.find((shown) => shown.record.id === event.target);
    const what = target ? `${clockText(target.record.at_ms)} ${eventText(target.record.event)}` : event.target;
    return r(event.kind === 'voided' ? 'review.added.voided' : 'review.added.amended', { name, what, reason: event.reason });
  }
  const what = event.kind === 'reviewed' && event.deed.what !== 'added' ? r(`review.reviewed.${event.deed.what}`) : eventText(event);
  return r('review.added.fact', { name, what });
}
