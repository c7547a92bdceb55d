//! What water and palms do must record nothing; what a finger, a glove, a mouse or a pen does must.
import { expect, test } from 'vitest';
import { ghost, meantForAnother } from './touch';

test('a finger, a gloved finger and a device that tells no size count', () => {
  for (const size of [0, 1, 30, 105]) expect(ghost({ width_px: size, height_px: size, others: 0 })).toBe(false);
  expect(ghost({ width_px: 40, height_px: 40, others: 1 })).toBe(false);
});

test('a palm, a film of water and rain do not', () => {
  expect(ghost({ width_px: 40, height_px: 200, others: 0 })).toBe(true);
  expect(ghost({ width_px: 10, height_px: 10, others: 3 })).toBe(true);
});

test('the second half of a double tap is kept from what came up under it; a quick second button and a key pressed twice are not', () => {
  const first = { at_ms: 1000, x_px: 100, y_px: 100, target: 'answer' };
  expect(meantForAnother({ ...first, at_ms: 1200, target: 'below' }, first)).toBe(true);
  expect(meantForAnother({ ...first, at_ms: 1350, target: 'below' }, first)).toBe(false);
  expect(meantForAnother({ ...first, at_ms: 1200, x_px: 180, target: 'beside' }, first)).toBe(false);
  expect(meantForAnother({ ...first, at_ms: 1200 }, first)).toBe(false);
  expect(meantForAnother(first, null)).toBe(false);
});
