//! RFC 5905 section 8: the worked arithmetic of one exchange, and the filter's rules.
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { ClockFilter, JumpWatch, SlewedTime, sampleOf } from './filter';

interface Exchange { row: string; t1_ms: number; t2_ms: number; t3_ms: number; t4_ms: number; offset_ms: number; delay_ms: number; error_ms: number }
const published = JSON.parse(readFileSync(new URL('../../../tests/published/clock.json', import.meta.url), 'utf8')) as { checks: Exchange[] };

test.each(published.checks)('$row: one exchange gives offset and delay as RFC 5905 defines them', (check) => {
  const { t1_ms: sent_ms, t2_ms: received_ms, t3_ms: replied_ms, t4_ms: answered_ms } = check;
  const sample = sampleOf({ sent_ms, received_ms, replied_ms, answered_ms });
  expect([sample.offset_ms, sample.delay_ms]).toEqual([check.offset_ms, check.delay_ms]);
  const filter = new ClockFilter();
  filter.add({ ...sample, taken_ms: 0 });
  expect(filter.estimate(0)?.error_ms).toBe(check.error_ms);
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

/** A small seeded generator: a failure names its seed. */
function random(seed: number): () => number {
  let state = seed;
  return () => (state = (state * 1_103_515_245 + 12_345) % 2_147_483_648) / 2_147_483_648;
}

/** Never 8, over random estimates: the first seed at which code time goes back with no correction shown. */
function goesBack(read: (shown: SlewedTime, local_ms: number, target_ms: number) => number): number | null {
  for (let seed = 1; seed <= 300; seed += 1) {
    const next = random(seed);
    const shown = new SlewedTime();
    let [local_ms, off_ms, last_ms] = [0, 0, read(shown, 0, 5_000)];
    for (let frame = 0; frame < 200; frame += 1) {
      local_ms += next() * 400;
      if (next() < 0.2) off_ms += (next() - 0.5) * (next() < 0.2 ? 20_000 : 1_500);
      const jump = shown.jump;
      const now_ms = read(shown, local_ms, 5_000 + local_ms + off_ms);
      if (now_ms < last_ms && shown.jump === jump) return seed;
      last_ms = now_ms;
    }
  }
  return null;
}

test('over random estimates code time never goes back without a shown correction', () => {
  expect(goesBack((shown, local_ms, target_ms) => shown.read(local_ms, target_ms))).toBeNull();
});

test('a planted bug, the estimate shown as it comes, is found', () => {
  expect(goesBack((_shown, _local_ms, target_ms) => target_ms)).not.toBeNull();
});
