//! What is said of a battery, and when it is low.
import { expect, test } from 'vitest';
import { batteryOf, isLow } from './battery';

test('a level becomes whole percents within bounds', () => {
  const percents = [0, 0.004, 0.196, 0.5, 1, 1.7, -1, NaN].map((level) => batteryOf({ level, charging: false }).percent);
  expect(percents).toEqual([0, 0, 20, 50, 100, 100, 0, 100]);
});

test('low is below 20 % and not on the charger', () => {
  expect(isLow({ percent: 19, charging: false })).toBe(true);
  expect(isLow({ percent: 20, charging: false })).toBe(false);
  expect(isLow({ percent: 3, charging: true })).toBe(false);
  expect(isLow(undefined)).toBe(false);
});
