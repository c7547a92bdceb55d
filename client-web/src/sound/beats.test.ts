//! The beat: the published rate and its range, and what must hold whatever the clock does.
import { expect, test } from 'vitest';
import { BeatFollower, breathsFallOn, phaseAt, type AxisSample, type Beat } from './beats';

/** AHA 2020 and ERC 2021, compressions 100 to 120 a minute (docs/clinical-sources.md, A6). */
const RATES = [100, 110, 120];
const TICK_ms = 25;
const AHEAD_ms = 300;

/** Drives a follower as the page does, with a clock that a function gives. */
function run(period_ms: number, for_ms: number, axisAt: (running_ms: number) => number, tickAt: (index: number) => number = (index) => index * TICK_ms): Beat[] {
  const follower = new BeatFollower(period_ms);
  const beats: Beat[] = [];
  for (let index = 0; tickAt(index) < for_ms; index += 1) {
    const now_ms = tickAt(index);
    beats.push(...follower.take({ axis_ms: axisAt(now_ms), running_ms: now_ms }, now_ms, now_ms + AHEAD_ms));
  }
  return beats;
}
const gaps = (beats: readonly Beat[]): number[] => beats.slice(1).map((beat, index) => beat.running_ms - (beats[index]?.running_ms ?? 0));

test.each(RATES)('%i a minute: so many beats in a minute, evenly, each once', (rate) => {
  const beats = run(60_000 / rate, 60_000, (running_ms) => running_ms + 1234);
  expect(Math.abs(beats.length - rate)).toBeLessThanOrEqual(1);
  for (const gap of gaps(beats)) expect(gap).toBeCloseTo(60_000 / rate, 6);
  expect(new Set(beats.map((beat) => beat.number)).size).toBe(beats.length);
});

test('two tablets with clocks of their own, begun at other moments, give the same beats at the same time', () => {
  const period_ms = 60_000 / 110;
  // One was switched on 5 s before the other: its performance.now() is ahead by that.
  const one = run(period_ms, 20_000, (running_ms) => running_ms + 71_000.4);
  const other = run(period_ms, 20_000, (running_ms) => running_ms + 76_000.4).map((beat) => ({ ...beat, running_ms: beat.running_ms + 5_000 }));
  const both = one.flatMap((beat) => other.filter((same) => same.number === beat.number).map((same) => Math.abs(same.running_ms - beat.running_ms)));
  expect(both.length).toBeGreaterThan(20);
  expect(Math.max(...both)).toBeLessThan(1e-6);
});

/** A small seeded generator: a failure names its seed. */
function random(seed: number): () => number {
  let state = seed;
  return () => (state = (state * 1_103_515_245 + 12_345) % 2_147_483_648) / 2_147_483_648;
}

/** The first seed at which a beat comes doubled, is missing, or leaves the range that a bent period may have. */
function broken(play: (period_ms: number, axisAt: (running_ms: number) => number, tickAt: (index: number) => number) => Beat[]): number | null {
  for (let seed = 1; seed <= 200; seed += 1) {
    const next = random(seed);
    const period_ms = 60_000 / (100 + Math.floor(next() * 21));
    // Corrections now and then, from a fraction of a millisecond to more than a beat; ticks that come late.
    let off_ms = next() * 10_000;
    let changed_ms = 0;
    const axisAt = (running_ms: number): number => {
      if (running_ms - changed_ms > 2_000 && next() < 0.1) {
        off_ms += (next() - 0.5) * (next() < 0.3 ? 1_600 : 8);
        changed_ms = running_ms;
      }
      return running_ms + off_ms;
    };
    let at_ms = 0;
    const times = Array.from({ length: 900 }, () => (at_ms += TICK_ms * (0.5 + next() * 4)));
    const beats = play(period_ms, axisAt, (index) => times[index] ?? Infinity);
    if (gaps(beats).some((gap) => gap < period_ms * 0.9599 || gap > period_ms * 1.0401)) return seed;
  }
  return null;
}

test('a clock that is corrected, slewed or jumps never doubles or drops a beat', () => {
  expect(broken((period_ms, axisAt, tickAt) => run(period_ms, 60_000, axisAt, tickAt))).toBeNull();
});

test('a planted bug, beats taken from the axis as it comes, is found', () => {
  const naive = (period_ms: number, axisAt: (running_ms: number) => number, tickAt: (index: number) => number): Beat[] => {
    const beats: Beat[] = [];
    let last = -Infinity;
    for (let index = 0; tickAt(index) < 60_000; index += 1) {
      const now_ms = tickAt(index);
      const number = Math.ceil(axisAt(now_ms) / period_ms);
      if (number !== last) beats.push({ number, running_ms: now_ms });
      last = number;
    }
    return beats;
  };
  expect(broken(naive)).not.toBeNull();
});

test('after a correction the beat is back on the axis within a few seconds', () => {
  const period_ms = 60_000 / 110;
  const axisAt = (running_ms: number): number => (running_ms < 5_000 ? running_ms : running_ms + 200);
  const last = run(period_ms, 20_000, axisAt).at(-1);
  expect(last).toBeDefined();
  const axis_ms = axisAt(last?.running_ms ?? 0);
  expect(Math.abs(axis_ms / period_ms - Math.round(axis_ms / period_ms))).toBeLessThan(1e-9);
});

test('a page that slept gives no beats of the past', () => {
  const follower = new BeatFollower(500);
  const at = (running_ms: number): AxisSample => ({ axis_ms: running_ms, running_ms });
  expect(follower.take(at(100), 100, 1_100).map((beat) => beat.number)).toEqual([1, 2]);
  expect(follower.take(at(90_000), 90_000, 91_000).map((beat) => beat.running_ms)).toEqual([90_000, 90_500, 91_000]);
});

test('the beat on the screen has the phase of the beat that is heard', () => {
  const sample = { axis_ms: 10_250, running_ms: 40 };
  expect(phaseAt(sample, 40, 500)).toBeCloseTo(0.5);
  for (const beat of new BeatFollower(500).take(sample, 40, 3_000)) expect(phaseAt(sample, beat.running_ms, 500)).toBeCloseTo(0);
});

test.each([[30, 2_000], [15, 0]])('the cue for breaths falls after %i beats, the breaths’ own time in between', (after_compressions, since_ms) => {
  // 30:2 for adults, 15:2 for children by two (A10, P17); 4 s for the breaths, the protocol files' own gap (W35).
  const period_ms = 500;
  const ratio = { after_compressions, gap_s: 4 };
  const first = since_ms / period_ms;
  const cues = Array.from({ length: 200 }, (_, beat) => beat).filter((beat) => breathsFallOn(beat, since_ms, period_ms, ratio));
  expect(cues[0]).toBe(first + after_compressions);
  expect((cues[1] ?? 0) - (cues[0] ?? 0)).toBe(after_compressions + 8);
  expect(breathsFallOn(first - 1, since_ms, period_ms, ratio)).toBe(false);
});
