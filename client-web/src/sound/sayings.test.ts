//! What is said, when, and in which order; never two at once.
import { expect, test } from 'vitest';
import { handsSaying } from '../model/hands';
import type { Detail, DrugLine, Hands, Prompt } from '../wire/generated';
import { sayable, SayQueue, type Saying } from './sayings';
import { tonesFor } from './tones';

const hands = (over: Partial<Hands> = {}): Hands => ({ now: 'compress', since_ms: 0, overdue: false, observed: { compressing: true, since_ms: 0, by: 'manual' }, ...over });
const prompt = (key: string, over: Omit<Partial<Prompt>, 'detail'> & { detail?: Partial<Detail> }): Prompt => ({ key, action: 'announce', roles: ['leader'], show_at_ms: 90_000, due_at_ms: 90_000, detail: {}, done_by: [], assumed: false, why: '', ...over }) as Prompt;
const line = (over: Partial<DrugLine> = {}): DrugLine => ({ drug: 'epinephrine', doses: 1, last_assumed: false, due_at_ms: 100_000, waits: false, ...over }) as DrugLine;
const said = (now_ms: number, over: { hands?: Hands; drugs?: DrugLine[]; prompts?: Prompt[]; lost_ms?: number; phase?: 'arrest' | 'rosc' } = {}): Saying[] => {
  const view = { phase: over.phase ?? ('arrest' as const), hands: over.hands ?? hands(), drugs: over.drugs ?? [] };
  return sayable(view, over.prompts ?? [], handsSaying(view.hands, view.phase, now_ms, over.lost_ms ?? null), now_ms);
};
const words = (queue: SayQueue, sayings: Saying[], now_ms: number): string | null => queue.next(sayings, now_ms)?.saying.sentence.what ?? null;
const check = prompt('announce@a', { detail: { of: 'pause_for_check', of_at_ms: 120_000 } });

test('an order for the hands is said once, when it is news', () => {
  const queue = new SayQueue();
  const clear = hands({ now: 'clear', since_ms: 50_000, until_ms: 60_000 });
  expect(words(queue, said(50_100, { hands: clear }), 50_100)).toBe('clear');
  queue.ended('clear@50000');
  expect(words(queue, said(50_900, { hands: clear }), 50_900)).toBeNull();
  // A page that opens later does not call it out.
  expect(words(new SayQueue(), said(53_000, { hands: clear }), 53_000)).toBeNull();
});

test('a pause that ran out is called as the hands line shows it, and once', () => {
  const queue = new SayQueue();
  const pause = hands({ now: 'pause', since_ms: 50_000, until_ms: 60_000, observed: { compressing: false, since_ms: 50_000 } });
  expect(words(queue, said(60_000, { hands: pause }), 60_000)).toBe('compress');
  queue.ended('compress@60000');
  const after = hands({ now: 'compress', since_ms: 60_000, overdue: true, observed: { compressing: false, since_ms: 50_000 } });
  expect(words(queue, said(60_100, { hands: after }), 60_100)).toBeNull();
});

test('never two at once: what comes later waits, and is dropped when it is old', () => {
  const queue = new SayQueue();
  const all = { prompts: [check], drugs: [line({ due_at_ms: 91_000 })] };
  expect(words(queue, said(91_000, all), 91_000)).toBe('check_ahead');
  expect(queue.speaking?.key).toBe('announce@a');
  expect(words(queue, said(92_000, all), 92_000)).toBeNull();
  queue.ended('announce@a');
  expect(words(queue, said(93_000, all), 93_000)).toBe('drug_due');
  queue.ended('epinephrine:1');

  const late = new SayQueue();
  expect(words(late, said(91_000, all), 91_000)).toBe('check_ahead');
  late.ended('announce@a');
  expect(words(late, said(101_000, all), 101_000)).toBeNull();
});

test('the hands go first, and cut in', () => {
  const queue = new SayQueue();
  const drugs = [line({ due_at_ms: 99_000 })];
  expect(words(queue, said(99_500, { drugs }), 99_500)).toBe('drug_due');
  const clear = { hands: hands({ now: 'clear', since_ms: 100_000, until_ms: 110_000 }), drugs, prompts: [check] };
  expect(queue.next(said(100_050, clear), 100_050)).toMatchObject({ saying: { sentence: { what: 'clear' } }, cut: true });
  // The end of what was cut off does not end what is said now.
  queue.ended('epinephrine:1');
  expect(queue.speaking?.sentence.what).toBe('clear');
  expect(words(queue, said(100_500, clear), 100_500)).toBeNull();
});

test('what no longer holds is never said', () => {
  const queue = new SayQueue();
  expect(words(queue, said(91_000, { prompts: [check] }), 91_000)).toBe('check_ahead');
  const other = prompt('announce@b', { detail: { of: 'give_drug', drug: 'epinephrine', of_at_ms: 150_000 } });
  expect(words(queue, said(92_000, { prompts: [other] }), 92_000)).toBeNull();
  queue.ended('announce@a');
  expect(words(queue, said(93_000, { prompts: [] }), 93_000)).toBeNull();
});

test('a dose is said when it is due, once for its number, and not while it waits or is withheld', () => {
  const queue = new SayQueue();
  expect(words(queue, said(99_999, { drugs: [line()] }), 99_999)).toBeNull();
  expect(words(queue, said(100_000, { drugs: [line({ withheld: true })] }), 100_000)).toBeNull();
  expect(words(queue, said(100_000, { drugs: [line({ waits: true })] }), 100_000)).toBeNull();
  expect(words(queue, said(100_000, { drugs: [line()] }), 100_000)).toBe('drug_due');
  queue.ended('epinephrine:1');
  expect(words(queue, said(101_000, { drugs: [line({ due_at_ms: 100_900 })] }), 101_000)).toBeNull();
  expect(words(queue, said(340_000, { drugs: [line({ doses: 2, due_at_ms: 340_000 })] }), 340_000)).toBe('drug_due');
});

test('without the server, and after return of circulation, nothing is called out', () => {
  expect(said(50_100, { hands: hands({ since_ms: 50_000 }), lost_ms: 3_000, prompts: [check], drugs: [line({ due_at_ms: 50_000 })] })).toEqual([]);
  expect(said(50_100, { hands: hands({ now: 'none', since_ms: 50_000 }), phase: 'rosc' })).toEqual([]);
});

test('tones differ for what the hands do, and keep to the form that they state', () => {
  const [compress, clear, pause] = (['compress', 'clear', 'pause'] as const).map((what) => tonesFor({ what }));
  expect(new Set([compress, clear, pause].map((one) => JSON.stringify(one?.map((pulse) => pulse.hz)))).size).toBe(3);
  for (const pulses of [compress, clear, pause, tonesFor({ what: 'check_ahead', at_ms: 0 }), tonesFor({ what: 'drug_due', drug: 'x' })]) {
    expect([2, 3]).toContain(pulses?.length);
    for (const pulse of pulses ?? []) {
      expect(pulse.hz).toBeGreaterThanOrEqual(150);
      expect(pulse.hz).toBeLessThanOrEqual(1000);
      expect(pulse.long_s).toBeGreaterThanOrEqual(0.125);
      expect(pulse.long_s).toBeLessThanOrEqual(0.25);
    }
  }
});
