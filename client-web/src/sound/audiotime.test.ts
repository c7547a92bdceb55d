//! The page's clock and the loudspeaker's, on made-up platforms.
import { expect, test } from 'vitest';
import { aheadOf, AudioTime } from './audiotime';

test('the time stamp of what leaves the loudspeaker counts, where there is one', () => {
  expect(aheadOf({ running_ms: 5_000, current_s: 2, output: { contextTime: 1.96, performanceTime: 5_000 }, output_latency_s: 9 })).toBeCloseTo(-3_040);
});

test.each([
  ['no time stamp', undefined],
  ['a time stamp of zeros, before sound runs', { contextTime: 0, performanceTime: 0 }],
  ['an old time stamp', { contextTime: 1.5, performanceTime: 2_000 }],
  ['one that is ahead of the context', { contextTime: 7, performanceTime: 5_000 }],
])('%s: the latency that the platform names is taken off', (_what, output) => {
  const reading = { running_ms: 5_000, current_s: 2, output };
  expect(aheadOf({ ...reading, output_latency_s: 0.12, base_latency_s: 0.01 })).toBeCloseTo(-3_120);
  // Some name only the smaller part, some say 0 and mean that they do not know.
  expect(aheadOf({ ...reading, output_latency_s: 0, base_latency_s: 0.01 })).toBeCloseTo(-3_010);
  expect(aheadOf(reading)).toBeCloseTo(-3_000);
});

test('two devices with other latencies are told other times for one moment, so that both are heard at it', () => {
  const heardAt = (latency_s: number): number => {
    const time = new AudioTime();
    for (let index = 0; index < 7; index += 1) time.add({ running_ms: 1_000, current_s: 10, output_latency_s: latency_s });
    // It leaves the loudspeaker so much later than the context's own time.
    return (time.at(2_000) ?? 0) + latency_s;
  };
  expect(heardAt(0.2)).toBeCloseTo(heardAt(0.02));
});

test('a clock that moves a whole buffer at a time gives a steady answer', () => {
  const time = new AudioTime();
  const answers: number[] = [];
  for (let index = 0; index < 200; index += 1) {
    const running_ms = index * 25.3;
    time.add({ running_ms, current_s: Math.floor(running_ms / 20) * 0.02, output_latency_s: 0.03 });
    if (index > 50) answers.push((time.at(running_ms) ?? 0) * 1000 - running_ms);
  }
  expect(Math.max(...answers) - Math.min(...answers)).toBeLessThan(3);
});

test('one reading that is far off does not move it, another loudspeaker does', () => {
  const time = new AudioTime();
  for (let index = 0; index < 20; index += 1) time.add({ running_ms: index * 25, current_s: index * 0.025 });
  for (const off_s of [0.06, 0.48]) {
    time.add({ running_ms: 560, current_s: 0.56 - off_s });
    expect(time.at(1_000)).toBeCloseTo(1);
    time.add({ running_ms: 580, current_s: 0.58 });
  }
  for (let index = 0; index < 7; index += 1) time.add({ running_ms: 600 + index * 25, current_s: 0.4 + index * 0.025 });
  expect(time.at(1_000)).toBeCloseTo(0.8);
});

test('nothing is scheduled by the first few readings, which some platforms get wrong', () => {
  const time = new AudioTime();
  for (let index = 0; index < 6; index += 1) {
    time.add({ running_ms: index * 25, current_s: index * 0.025 });
    expect(time.at(1_000)).toBeNull();
  }
  time.add({ running_ms: 150, current_s: 0.15 });
  expect(time.at(1_000)).toBeCloseTo(1);
});
