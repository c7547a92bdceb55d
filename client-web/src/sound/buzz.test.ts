//! A task shakes the tablet when it becomes due and when it is late, and never again.
import { expect, test } from 'vitest';
import { Buzz } from './buzz';

test('once when due, once when late, and not for what only lies ahead', () => {
  const buzz = new Buzz();
  const at = (urgency: 'none' | 'low' | 'medium' | 'high', key = 'give_drug@a'): number | null => buzz.next([{ key, urgency }])?.length ?? null;
  expect([at('none'), at('low')]).toEqual([null, null]);
  expect([at('medium'), at('medium')]).toEqual([1, null]);
  expect([at('high'), at('high'), at('medium')]).toEqual([5, null, null]);
  expect(at('medium', 'give_drug@b')).toBe(1);
});
