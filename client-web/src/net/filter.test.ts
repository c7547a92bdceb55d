//! RFC 5905 section 8: the worked arithmetic of one exchange, and the filter's rules.
import { expect, test } from 'vitest';
import { ClockFilter, JumpWatch, SlewedTime, sampleOf } from './filter';

test('one exchange gives offset and delay as RFC 5905 defines them', () => {
  // T1=1000, T2=1105, T3=1110, T4=1025: theta = ((105)+(85))/2 = +95, delta = 25-5 = 20 (clinical fact W72).
  const sample = sampleOf({ sent_ms: 1000, received_ms: 1105, replied_ms: 1110, answered_ms: 1025 });
  expect(sample.offset_ms).toBe(95);
  expect(sample.delay_ms).toBe(20);
});

test('the sample with the least delay wins, and half its delay bounds the error', () => {
  const filter = new ClockFilter();
  filter.add({ offset_ms: 140, delay_ms: 90, taken_ms: 0 });
  filter.add({ offset_ms: 95, delay_ms: 20, taken_ms: 0 });
  filter.add({ offset_ms: 60, delay_ms: 70, taken_ms: 0 });
  expect(filter.estimate(0)).toEqual({ offset_ms: 95, error_ms: 10 });
});

test('the bound grows with age, so that an old sample gives way', () => {
  const filter = new ClockFilter();
  filter.add({ offset_ms: 95, delay_ms: 20, taken_ms: 0 });
  for (const taken_ms of [1_000_000, 1_001_000]) filter.add({ offset_ms: 99, delay_ms: 24, taken_ms });
  expect(filter.estimate(1_001_000)?.offset_ms).toBe(99);
});

test('only the last eight samples count', () => {
  const filter = new ClockFilter();
  filter.add({ offset_ms: 5, delay_ms: 1, taken_ms: 0 });
  for (let index = 0; index < 8; index += 1) filter.add({ offset_ms: 9, delay_ms: 10, taken_ms: 0 });
  expect(filter.estimate(0)?.offset_ms).toBe(9);
});

test('emptied, it holds what it knew until three fresh answers are in', () => {
  const filter = new ClockFilter();
  for (let index = 0; index < 3; index += 1) filter.add({ offset_ms: 95, delay_ms: 20, taken_ms: 0 });
  expect(filter.sure).toBe(true);
  filter.empty();
  expect(filter.sure).toBe(false);
  filter.add({ offset_ms: 500, delay_ms: 2, taken_ms: 10 });
  filter.add({ offset_ms: 501, delay_ms: 2, taken_ms: 20 });
  expect(filter.estimate(20)?.offset_ms).toBe(95);
  filter.add({ offset_ms: 501, delay_ms: 1, taken_ms: 30 });
  expect(filter.sure).toBe(true);
  expect(filter.estimate(30)?.offset_ms).toBe(501);
});

test('a negative delay is impossible and dropped', () => {
  const filter = new ClockFilter();
  filter.add({ offset_ms: 1, delay_ms: -5, taken_ms: 0 });
  expect(filter.estimate(0)).toBeNull();
});

test('wall clock against running clock: only a change of their difference is a jump', () => {
  const watch = new JumpWatch();
  expect(watch.jumped(1_000_000, 0)).toBe(false);
  expect(watch.jumped(1_016_000, 16_000)).toBe(false);
  expect(watch.jumped(1_076_000, 16_016)).toBe(true);
  expect(watch.jumped(1_076_016, 16_032)).toBe(false);
  expect(watch.jumped(1_070_000, 16_048)).toBe(true);
});

test('a small correction backwards is worked off without ever going back', () => {
  const shown = new SlewedTime();
  shown.read(0, 10_000);
  let last = 10_000;
  for (let local_ms = 16; local_ms <= 2000; local_ms += 16) {
    const now = shown.read(local_ms, 10_000 + local_ms - 400);
    expect(now).toBeGreaterThanOrEqual(last);
    last = now;
  }
  expect(last).toBeCloseTo(10_000 + 2000 - 400, 5);
  expect(shown.jump).toBeNull();
});

test('a correction above a second is shown as a jump', () => {
  const shown = new SlewedTime();
  shown.read(0, 10_000);
  expect(shown.read(16, 5_016)).toBe(5_016);
  expect(shown.jump).toEqual({ from_ms: 10_016, to_ms: 5_016 });
});
