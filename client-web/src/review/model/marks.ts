//! What the picture of a code shows, as marks on lanes with their words: the same marks are drawn, walked through by keys, and
//! read to those who do not see them. Pure but for the language. It measures nothing: lengths come from the server's figures.
import { eventText, short } from '../../model/speak';
import { amount, clockText } from '../../model/format';
import { t, word } from '../../text';
import { r } from '../../text/review';
import type { Action, Pause, PromptDeed, ReviewedCode, Rhythm, ShockFigures } from '../../wire/generated';
import { factsOf, type Fact } from './facts';
import { outside } from './span';

/** From top to bottom. */
export const LANES = ['compressions', 'monitor', 'rhythm', 'shocks', 'drugs', 'airway', 'etco2', 'other', 'prompts'] as const;
export type Lane = (typeof LANES)[number];

/** One thing on the picture. */
export interface Mark {
  id: string;
  lane: Lane;
  kind: 'compressed' | 'monitor' | 'pause' | 'no_flow' | 'rhythm' | 'shock' | 'epinephrine' | 'drug' | 'airway' | 'etco2' | 'other' | 'prompt' | 'end';
  at_ms: number;
  /** The same as `at_ms` for a moment. */
  until_ms: number;
  /** What stands beside it on the picture, if there is room. */
  label: string;
  /** All of it, for ears and for the line below the picture. */
  words: string;
  /** The record it stands for. */
  record?: string;
  /** A pause that is longer than 10 s, or a deed that was late. */
  grave?: boolean;
  /** A rhythm that wants a shock. */
  shockable?: boolean;
  by_device?: boolean;
  /** Compressions by the monitor, where its times count. */
  counts?: boolean;
  /** An attempt that failed, or something that was lost. */
  hollow?: boolean;
  shock?: ShockFigures;
  prompt?: PromptDeed;
  value?: number;
}

/** Longer than this a pause stands out: the target of docs/measures.md. */
export const LONG_PAUSE_MS = 10_000;
const SHOCKABLE: readonly Rhythm[] = ['vf', 'pulseless_vt'];

/** Seconds as people say them in a review, with a tenth where the record has one: `12.4 s`. */
export const seconds = (ms: number): string => r('review.seconds', { seconds: amount(Math.round(ms / 100) / 10) }).replace(' ', '\u00a0').replace('-', '−');
/** A time of the code to the second, or to the tenth where it lies between. */
export const clock = (ms: number): string => clockText(ms);

const ofPause = (pause: Pause): string => t(`reason.${pause.reason}`);

function compressionMarks(code: ReviewedCode): Mark[] {
  const marks: Mark[] = [];
  code.course.forEach((arrest, place) => {
    const first = arrest.compressed[0];
    const first_ms = first?.start_ms ?? arrest.end_ms;
    if (first_ms > arrest.start_ms) {
      const words = r('review.no_flow.words', { from: clock(arrest.start_ms), time: seconds(first_ms - arrest.start_ms) });
      marks.push({ id: `no_flow ${place}`, lane: 'compressions', kind: 'no_flow', at_ms: arrest.start_ms, until_ms: first_ms, label: seconds(first_ms - arrest.start_ms), words, grave: first_ms - arrest.start_ms > LONG_PAUSE_MS });
    }
    for (const one of arrest.compressed) {
      const by_device = one.by === 'mechanical';
      const words = r('review.compressed.words', { from: clock(one.start_ms), to: clock(one.end_ms), by: t(`by.${one.by}`) });
      marks.push({ id: `compressed ${one.start_ms}`, lane: 'compressions', kind: 'compressed', at_ms: one.start_ms, until_ms: one.end_ms, label: '', words, by_device });
    }
    marks.push({
      id: `end ${place}`, lane: 'compressions', kind: 'end', at_ms: arrest.end_ms, until_ms: arrest.end_ms,
      label: arrest.ended_by === 'rosc' ? t('tap.rosc') : t('phase.closed'),
      words: `${clock(arrest.end_ms)} ${arrest.ended_by === 'rosc' ? t('tap.rosc') : r('review.record_ends')}`,
    });
  });
  for (const pause of code.figures.pauses) {
    const length_ms = pause.end_ms - pause.start_ms;
    const grave = length_ms > LONG_PAUSE_MS;
    const words = r(grave ? 'review.pause.long.words' : 'review.pause.words', { from: clock(pause.start_ms), time: seconds(length_ms), reason: ofPause(pause) });
    marks.push({ id: `pause ${pause.start_ms}`, lane: 'compressions', kind: 'pause', at_ms: pause.start_ms, until_ms: pause.end_ms, label: seconds(length_ms), words, grave });
  }
  return marks;
}

/** `Pre-shock 4 s, post-shock 3 s, peri-shock 7 s`, or that no pause was recorded around it. */
export function shockPauses(shock: ShockFigures): string {
  if (shock.pre_shock_ms === null) return r('review.shock.no_pause');
  const parts = [r('review.pre_shock', { time: seconds(shock.pre_shock_ms) })];
  if (shock.post_shock_ms !== null) parts.push(r('review.post_shock', { time: seconds(shock.post_shock_ms) }));
  if (shock.peri_shock_ms !== null) parts.push(r('review.peri_shock', { time: seconds(shock.peri_shock_ms) }));
  return parts.join(', ');
}

function factMark(fact: Fact, next_ms: number, shocks: Map<number, ShockFigures[]>): Mark | null {
  const { event, at_ms, id } = fact;
  const base = { id, record: id, at_ms, until_ms: at_ms, words: `${clock(at_ms)} ${eventText(event)}` };
  switch (event.kind) {
    case 'rhythm_checked':
      return { ...base, lane: 'rhythm', kind: 'rhythm', until_ms: next_ms, label: t(`rhythm.${event.rhythm}`), shockable: SHOCKABLE.includes(event.rhythm) };
    case 'shock_delivered': {
      const shock = shocks.get(at_ms)?.shift();
      const words = shock ? `${base.words}. ${shockPauses(shock)}` : base.words;
      return { ...base, lane: 'shocks', kind: 'shock', label: t('energy.joules', { energy: amount(event.energy_j) }), words, shock };
    }
    case 'drug_given': {
      const epinephrine = ['epinephrine', 'adrenaline'].includes(event.drug.toLowerCase()) && event.form === 'bolus' && ['iv', 'io'].includes(event.route);
      return { ...base, lane: 'drugs', kind: epinephrine ? 'epinephrine' : 'drug', label: word('drug', event.drug).replace(/ \(.*/, '') };
    }
    case 'airway_placed':
    case 'airway_attempted':
    case 'airway_removed':
      return { ...base, lane: 'airway', kind: 'airway', label: t(`airway.${event.airway}`), hollow: event.kind !== 'airway_placed' };
    case 'access_gained':
    case 'access_failed':
    case 'access_lost':
      return { ...base, lane: 'airway', kind: 'airway', label: t(`route.${event.route}`), hollow: event.kind !== 'access_gained' };
    case 'etco2_read':
      return { ...base, lane: 'etco2', kind: 'etco2', label: amount(event.mmhg), value: event.mmhg };
    case 'charging_started':
    case 'all_clear_called':
    case 'charge_dumped':
    case 'shock_aborted':
      return { ...base, lane: 'shocks', kind: 'other', label: '' };
    case 'compressions_started':
    case 'compressions_stopped':
    case 'rosc':
    case 'code_closed':
    case 'code_opened':
    case 'role_assigned':
    case 'role_released':
    case 'device_left':
    case 'task_done':
    case 'drug_prepared':
    case 'charge_ready':
    case 'pause_reason':
      return null;
    default:
      return { ...base, lane: 'other', kind: 'other', label: '' };
  }
}

const WITH_DRUG = ['give_drug', 'draw_up', 'announce', 'confirm_second_dose'] as const;

/** What was asked, in words: the drug is left out, since the log keeps the action only. */
export function actionText(action: string): string {
  const known = WITH_DRUG.find((one) => one === action);
  return known ? r(`review.action.${known}`) : short({ action: action as Action });
}

/** `Due 4:00, done 4:06, 6 s after it was due`. */
export function promptText(prompt: PromptDeed): string {
  const parts = [r('review.prompt.shown', { time: clock(prompt.shown_at_ms) })];
  if (prompt.due_at_ms !== undefined) parts.push(r('review.prompt.due', { time: clock(prompt.due_at_ms) }));
  if (prompt.end === 'done' && prompt.ended_at_ms !== undefined) {
    parts.push(r('review.prompt.done', { time: clock(prompt.ended_at_ms) }));
    const after = prompt.after_due_ms;
    if (after !== undefined && after !== null) parts.push(after > 0 ? r('review.prompt.after', { time: seconds(after) }) : r('review.prompt.before', { time: seconds(-after) }));
  } else if (prompt.end === 'withdrawn') parts.push(r('review.prompt.withdrawn', { time: clock(prompt.ended_at_ms ?? prompt.shown_at_ms) }));
  else parts.push(r('review.prompt.stood'));
  return parts.join(', ');
}

export const wasLate = (prompt: PromptDeed): boolean =>
  prompt.late_at_ms !== undefined && prompt.ended_at_ms !== undefined && prompt.end === 'done' && prompt.ended_at_ms > prompt.late_at_ms;

function promptMarks(code: ReviewedCode, end_ms: number): Mark[] {
  return code.prompts
    .filter((prompt) => prompt.end !== 'withdrawn')
    .map((prompt, place) => ({
      id: `prompt ${place}`, lane: 'prompts' as const, kind: 'prompt' as const, at_ms: prompt.shown_at_ms,
      until_ms: Math.max(prompt.shown_at_ms, prompt.ended_at_ms ?? end_ms), label: actionText(prompt.action),
      words: `${r('review.prompt.of', { what: actionText(prompt.action) })}: ${promptText(prompt)}`, grave: wasLate(prompt), prompt,
    }));
}

/** What monitors recorded, and which of it counts. */
function monitorMarks(code: ReviewedCode): Mark[] {
  return code.imports.flatMap((imported) => imported.stretches.map((stretch) => ({
    id: `monitor ${imported.id} ${stretch.start_ms}`, lane: 'monitor' as const, kind: 'monitor' as const, at_ms: stretch.start_ms, until_ms: stretch.stop_ms, label: '', counts: stretch.counts !== 'taps',
    words: r('review.monitor.words', { from: clock(stretch.start_ms), to: clock(stretch.stop_ms), source: r(`review.source.${stretch.counts}`) }),
  })));
}

/** Every mark, in order of time: the order of the keys. */
export function marksOf(code: ReviewedCode): Mark[] {
  const facts = factsOf(code);
  const end_ms = code.course.at(-1)?.end_ms ?? facts.at(-1)?.at_ms ?? 0;
  const looks = facts.filter((fact) => ['rhythm_checked', 'rosc', 'code_closed', 'arrest_again'].includes(fact.event.kind));
  const shocks = new Map<number, ShockFigures[]>();
  for (const shock of code.figures.shocks) shocks.set(shock.at_ms, [...(shocks.get(shock.at_ms) ?? []), shock]);
  const made = facts.map((fact) => factMark(fact, looks.find((look) => look.at_ms > fact.at_ms)?.at_ms ?? Math.max(end_ms, fact.at_ms), shocks));
  const marks = [...compressionMarks(code), ...monitorMarks(code), ...made.filter((mark) => mark !== null), ...promptMarks(code, end_ms)];
  return marks.sort((one, other) => one.at_ms - other.at_ms || LANES.indexOf(one.lane) - LANES.indexOf(other.lane));
}

/** So many facts outside of the picture are named. */
const NAMED = 8;
/** What lies so far off that it is not on the picture, in words; empty if all of it is. */
export function outsideText(code: ReviewedCode): string {
  const facts = outside(code);
  if (facts.length === 0) return '';
  const named = facts.slice(0, NAMED).map((fact) => `${clock(fact.at_ms)} ${eventText(fact.event)}`);
  if (facts.length > NAMED) named.push(r('review.more', { count: facts.length - NAMED }));
  return r('review.outside', { count: facts.length, what: named.join('; ') });
}

/** Rows for marks that last, so that none lies on another: the first row that is free. */
export function rowsOf(marks: readonly Mark[], room_ms: number): Map<string, number> {
  const ends: number[] = [];
  const rows = new Map<string, number>();
  for (const mark of marks) {
    let row = ends.findIndex((end_ms) => end_ms + room_ms <= mark.at_ms);
    if (row === -1) row = ends.push(0) - 1;
    ends[row] = mark.until_ms;
    rows.set(mark.id, row);
  }
  return rows;
}
