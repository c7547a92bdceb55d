//! What is known of a code after a start without the server.
import { expect, test } from 'vitest';
import type { ViewMessage } from '../wire/generated';
import { forget, keep, noteLetIn, recall, wasLetIn, type Kept } from './kept';

const store = (): { getItem: (key: string) => string | null; setItem: (key: string, value: string) => void; removeItem: (key: string) => void } => {
  const held = new Map<string, string>();
  return { getItem: (key) => held.get(key) ?? null, setItem: (key, value) => void held.set(key, value), removeItem: (key) => void held.delete(key) };
};
const view = (phase: 'arrest' | 'closed' = 'arrest'): ViewMessage => ({ code: 'c', phase, prompts: [], hands: { now: 'compress' } }) as unknown as ViewMessage;
const kept = (over: Partial<Kept> = {}): Kept => ({ device: { id: 'd', name: 'Bay 1' }, view: view(), server_ms: 70_000, wall_ms: 1_000_000, rate: 1, ...over });

test('the last view comes back with its age, and the server’s time goes on by the wall clock', () => {
  const here = store();
  keep(here, kept());
  expect(recall(here, 1_030_000)).toMatchObject({ age_ms: 30_000, server_now_ms: 100_000, view: { code: 'c' } });
});

test('a closed code, one that was left, and a state of hours ago do not come back', () => {
  const here = store();
  keep(here, kept());
  expect(recall(here, 1_000_000 + 5 * 3_600_000)).toBeNull();
  forget(here);
  expect(recall(here, 1_000_000)).toBeNull();
  keep(here, kept());
  keep(here, kept({ view: view('closed') }));
  expect(recall(here, 1_000_000)).toBeNull();
});

test('a wall clock that went back, and what makes no sense, count as nothing known', () => {
  const here = store();
  keep(here, kept());
  expect(recall(here, 999_000)).toBeNull();
  for (const text of ['nonsense', '7', '{}', '{"view":{"code":"c"}}']) {
    here.setItem('coxswain.last', text);
    expect(recall(here, 1_000_000)).toBeNull();
  }
  expect(recall(null, 1_000_000)).toBeNull();
});

test('who was let in is known at the next start, until the server says otherwise', () => {
  const one = store();
  expect(wasLetIn(one)).toBe(false);
  noteLetIn(one, true);
  expect(wasLetIn(one)).toBe(true);
  noteLetIn(one, false);
  expect(wasLetIn(one)).toBe(false);
});

test('a browser that keeps nothing was never let in, and nothing fails', () => {
  const full = (): never => {
    throw new Error('quota');
  };
  const none = { getItem: full, setItem: full, removeItem: full };
  noteLetIn(none, true);
  noteLetIn(none, false);
  expect([wasLetIn(none), wasLetIn(null)]).toEqual([false, false]);
});
