//! Which of a view's prompts a role sees, how urgent they are, and what its main button records. It draws on what the
//! server planned and on nothing else: it adds no prompt, and moves none.
import { sheetFor } from './patient';
import type { Detail, Event, Hands, Prompt, Role, ViewMessage } from '../wire/generated';

/** IEC 60601-1-8 priorities; `none` is a routine countdown. */
export type Urgency = 'high' | 'medium' | 'low' | 'none';

/** A prompt's particulars, any of which may be absent. */
export type Particulars = Partial<Detail>;

/** How urgent a prompt is now. Standing tasks (a breath rhythm) never press. */
export function urgencyOf(prompt: Prompt, now_ms: number): Urgency {
  if (prompt.action === 'ventilate') return 'none';
  if (now_ms < prompt.show_at_ms) return 'none';
  if (typeof prompt.late_at_ms === 'number' && now_ms >= prompt.late_at_ms) return 'high';
  if (now_ms >= prompt.due_at_ms) return 'medium';
  return 'low';
}

/** Whether a prompt shows now. */
export function shows(prompt: Prompt, now_ms: number): boolean {
  return now_ms >= prompt.show_at_ms;
}

/** What one screen is about: a role's, or those of several roles that one device holds. */
export interface RoleTasks {
  /** The task shown large. */
  main: Prompt | null;
  /** Others of these roles that show now, or come later. */
  after: Prompt[];
}

/** The roles' prompts: what shows now first (most pressing first, standing tasks last), then what comes. */
export function tasksFor(prompts: readonly Prompt[], roles: readonly Role[], now_ms: number, alsoFor: readonly Role[] = []): RoleTasks {
  const isOwn = (one: Prompt): boolean => one.roles.some((role) => roles.includes(role));
  const own = prompts.filter(isOwn);
  const lent = prompts.filter((one) => !isOwn(one) && one.roles.some((role) => alsoFor.includes(role)));
  const ordered = [...order(own, now_ms), ...order(lent, now_ms)];
  const showing = ordered.filter((one) => shows(one, now_ms) && one.action !== 'ventilate');
  // Own tasks go before lent ones of the same weight: the sort keeps their order.
  const visible = [...showing].sort((one, other) => rankOf(one, now_ms) - rankOf(other, now_ms));
  const standing = ordered.filter((one) => shows(one, now_ms) && one.action === 'ventilate');
  const ahead = order(ordered.filter((one) => !shows(one, now_ms)), now_ms);
  const all = [...visible, ...standing, ...ahead];
  return { main: all[0] ?? null, after: all.slice(1) };
}

/** What the next seconds ask for: it goes before everything that may be late already, such as a task of a circumstance. */
const PRESSES: readonly Prompt['action'][] = [
  'start_compressions', 'resume_compressions', 'pause_for_check', 'read_rhythm', 'confirm_rosc', 'announce', 'ready_relief',
  'finger_on_pulse', 'charge_ahead', 'charge', 'call_all_clear', 'give_shock', 'confirm_shock', 'dump_charge',
];

/** What only makes ready for something: it gives way to what is due itself, where one person does both. */
const READIES: readonly Prompt['action'][] = ['announce', 'finger_on_pulse', 'charge_ahead'];
/** Who stands at the chest has the pulse to find next: what no tap does gives way to what one does. */
const STANDS_BY: Prompt['action'] = 'ready_relief';

/**
 * Questions that stand until somebody finds the moment for them: they never push aside what the next seconds ask for, such
 * as the rhythm. Each can also be answered from its role's panels.
 */
const WAITS: readonly Prompt['action'][] = [
  'enter_weight', 'change_protocol', 'consider_circumstance', 'confirm_roles', 'confirm_flow', 'review_limits',
  'review_causes',
];

/** Whether a task lets the others that show go first. */
export const waits = (prompt: Pick<Prompt, 'action'>): boolean => WAITS.includes(prompt.action);

/**
 * The order of what shows: what the next seconds ask for; what is late, and in trauma the reversible causes; what is due; a
 * circumstance's other tasks, so that none of them stands before a dose; questions that wait.
 */
function rankOf(prompt: Prompt, now_ms: number): number {
  if (prompt.action === STANDS_BY) return 0.75;
  if (PRESSES.includes(prompt.action)) return READIES.includes(prompt.action) || now_ms < prompt.due_at_ms ? 0.5 : 0;
  if (waits(prompt)) return 4;
  const late = typeof prompt.late_at_ms === 'number' && now_ms >= prompt.late_at_ms;
  if (late || (prompt.action === 'special_care' && prompt.key.includes(':trauma.'))) return 1;
  return prompt.action === 'special_care' ? 3 : 2;
}

/** Tasks that one tap only ticks. A view that had to be short leaves such taps out: they are made of the key. */
const TICKED: readonly Prompt['action'][] = ['announce', 'review_causes', 'special_care', 'aftercare', 'change_pads'];

/** A view's prompts with the ticks that it left out. What shows later is not ticked ahead of its time. */
export function withTicks(prompts: readonly Prompt[], at_ms: number): Prompt[] {
  const left_out = (one: Prompt): boolean =>
    !one.tap && TICKED.includes(one.action) && shows(one, at_ms) && sheetFor(one) === null &&
    (one.done_by.length === 0 || one.done_by.includes('task_done'));
  return prompts.map((one) => (left_out(one) ? { ...one, tap: { kind: 'task_done', prompt: one.key } } : one));
}

function order(prompts: readonly Prompt[], now_ms: number): Prompt[] {
  const rank = (one: Prompt): number => (shows(one, now_ms) ? rankOf(one, now_ms) : 5);
  return [...prompts].sort((one, other) => rank(one) - rank(other) || one.due_at_ms - other.due_at_ms);
}

/**
 * The nearest prompt that one tap does: the first that shows, else the next that comes. What is only ticked off waits
 * until it shows: ticked ahead of its time, it would never be asked.
 */
export function tappable(tasks: RoleTasks, now_ms: number): Prompt | null {
  const all = tasks.main ? [tasks.main, ...tasks.after] : tasks.after;
  // What only waits is answered where it is the task shown, in its own words: never by a button below another task.
  return all.find((one) => one.tap && (one === tasks.main || !waits(one)) && (shows(one, now_ms) || one.tap.kind !== 'task_done')) ?? null;
}

/**
 * What the chest's button records while nothing is asked of the chest: a stop or a start, by what was observed. While
 * hands are clear, a stop is for the shock.
 */
export function chestTap(hands: Hands): Event {
  if (!hands.observed.compressing) return { kind: 'compressions_started', by: hands.observed.by ?? 'manual' };
  return { kind: 'compressions_stopped', reason: hands.now === 'clear' ? 'shock' : 'rhythm_check' };
}

/** Whether an event, by its kind and what it is about, does a prompt. */
export function doesPrompt(event: Event, prompt: Prompt): boolean {
  if (!prompt.done_by.includes(event.kind)) return false;
  if (event.kind === 'task_done') return event.prompt === prompt.key;
  // An age is no weight, another circumstance no answer, one role not yet all of them: only a view can say what these do.
  if (prompt.action === 'confirm_roles') return false;
  if (prompt.action === 'enter_weight') return event.kind === 'patient_updated' && event.weight_kg !== undefined;
  if (prompt.action === 'consider_circumstance') return event.kind === 'circumstance_set' && event.name === prompt.detail.circumstance;
  if (event.kind === 'voided') return prompt.key.includes(`@${event.target}`);
  if ((event.kind === 'drug_given' || event.kind === 'drug_prepared') && prompt.detail.drug) {
    return event.drug === prompt.detail.drug || event.drug === prompt.detail.or?.drug;
  }
  return true;
}

/** The keys of the prompts that a tap does: of each action the nearest one only, for a later one asks anew. */
export function doneKeys(event: Event, prompts: readonly Prompt[]): string[] {
  const nearest = new Map<string, Prompt>();
  for (const prompt of prompts) {
    if (!doesPrompt(event, prompt)) continue;
    const known = nearest.get(prompt.action);
    if (!known || prompt.due_at_ms < known.due_at_ms) nearest.set(prompt.action, prompt);
  }
  return [...nearest.values()].map((one) => one.key);
}

/** What is known of a tap when it is weighed against a view. */
export interface TapDone {
  id: string;
  event: Event;
  does: readonly string[];
  /** `run.rev` of the view it was made on. */
  seen: string;
  code: string;
}

/**
 * The prompts of a view without those that this device's own unanswered taps have done. While the link is up, a newer
 * view knows better than the tap; without a link the tap is all there is. Taps only ever remove.
 */
export function withoutDone(
  view: Pick<ViewMessage, 'prompts' | 'run' | 'rev' | 'code'>,
  taps: readonly TapDone[],
  linked: boolean,
): Prompt[] {
  const voided = new Set(taps.flatMap((tap) => (tap.event.kind === 'voided' ? [tap.event.target] : [])));
  const gone = new Set<string>();
  for (const tap of taps) {
    if (tap.code !== view.code || voided.has(tap.id)) continue;
    if (!linked || tap.seen === seenOf(view)) tap.does.forEach((key) => gone.add(key));
  }
  return gone.size === 0 ? view.prompts : view.prompts.filter((one) => !gone.has(one.key));
}

/** Names a view. */
export function seenOf(view: Pick<ViewMessage, 'run' | 'rev'>): string {
  return `${view.run}.${view.rev}`;
}

/** Whether `next` is newer than `last`: views are ordered by (run, rev). */
export function newer(
  next: Pick<ViewMessage, 'run' | 'rev' | 'code'>,
  last: Pick<ViewMessage, 'run' | 'rev' | 'code'> | null,
): boolean {
  if (!last || last.code !== next.code) return true;
  return next.run > last.run || (next.run === last.run && next.rev >= last.rev);
}
