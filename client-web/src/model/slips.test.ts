//! Double taps are one, late taps stand where they belong, and what weighs is held.
import { expect, test } from 'vitest';
import type { Event, Hands } from '../wire/generated';
import { CATCH_UP_MS, DOUBLE_MS, catchUp_ms, grave, repeats } from './slips';

const given: Event = { kind: 'breaths_given', count: 2 };
const stopped: Event = { kind: 'compressions_stopped', reason: 'rhythm_check' };
const hands = (since_ms?: number): Hands => ({ now: 'compress', observed: { compressing: true, ...(since_ms === undefined ? {} : { since_ms }) } }) as Hands;

test('the same tap again within a moment is the same tap; another one, or a later one, is not', () => {
  const last = { id: 'a', event: given, taken_ms: 1000 };
  expect(repeats(given, last, 1000 + DOUBLE_MS - 1)).toBe(true);
  expect(repeats(given, last, 1000 + DOUBLE_MS)).toBe(false);
  expect(repeats({ ...given, count: 5 }, last, 1100)).toBe(false);
  expect(repeats(given, null, 1100)).toBe(false);
});

test('a forgotten stop is caught up with, never to before the last change or the arrest', () => {
  expect(catchUp_ms(stopped, hands(60_000), 75_000)).toBe(CATCH_UP_MS);
  expect(catchUp_ms(stopped, hands(60_000), 70_000)).toBe(null);
  expect(catchUp_ms(stopped, hands(), CATCH_UP_MS)).toBe(null);
  expect(catchUp_ms({ kind: 'pads_attached', position: 'unknown' }, hands(0), 75_000)).toBe(undefined);
});

test('shock, circulation, death and the end are held; compressions never wait', () => {
  expect((['shock_delivered', 'rosc', 'death_declared', 'code_closed'] as const).every(grave)).toBe(true);
  expect((['compressions_started', 'compressions_stopped', 'arrest_again', 'all_clear_called'] as const).some(grave)).toBe(false);
});
