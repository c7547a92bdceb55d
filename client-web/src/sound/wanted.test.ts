//! When which device sounds.
import { expect, test } from 'vitest';
import type { Hands } from '../wire/generated';
import { beatOf, breathsOf, gainOf, stepFor, wants, type BeatView } from './wanted';

const hands = (over: Partial<Hands> = {}): Hands => ({ now: 'compress', since_ms: 0, overdue: false, observed: { compressing: true, since_ms: 10_000, by: 'manual' }, ...over });
const view = (over: Partial<BeatView> = {}): BeatView => ({ phase: 'arrest', hands: hands(), compressions_per_minute: 110, ...over });
const stopped = { compressing: false, since_ms: 60_000 };
const SILENT: [string, BeatView, number | null][] = [
  ['in a pause', view({ hands: hands({ now: 'pause', observed: stopped }) }), null],
  ['while hands are clear', view({ hands: hands({ now: 'clear', observed: stopped }) }), null],
  ['while hands are clear and nobody recorded the stop', view({ hands: hands({ now: 'clear' }) }), null],
  ['when compressions are ordered and nobody recorded them', view({ hands: hands({ overdue: true, observed: stopped }) }), null],
  ['when the server has been out of reach for 3 s', view(), 3_000],
  ['while a device compresses', view({ compressions_per_minute: undefined }), null],
  ['after return of circulation', view({ phase: 'rosc', hands: hands({ now: 'none' }) }), null],
  ['on standby', view({ phase: 'standby', hands: hands({ now: 'none' }) }), null],
  ['after the end', view({ phase: 'closed', hands: hands({ now: 'none' }) }), null],
];

test('the beat runs under compressions that are ordered and on the record', () => {
  expect(beatOf(view(), null, false)).toBe('full');
  expect(beatOf(view(), 2_900, false)).toBe('full');
});

test('no false beat: silent wherever compressions are not ordered and on the record', () => {
  for (const [when, seen, lost_ms] of SILENT) expect([when, beatOf(seen, lost_ms, false)]).toEqual([when, null]);
});

test('a device that was told to go on through pauses does so softly, and never while hands are clear', () => {
  expect(beatOf(view(), null, true)).toBe('full');
  for (const [when, seen, lost_ms] of SILENT) {
    const expected = /pause|nobody recorded them|out of reach/.test(when) ? 'soft' : null;
    expect([when, beatOf(seen, lost_ms, true)]).toEqual([when, expected]);
  }
});

test('each kind of sound is on its role’s device without a choice, on any device by choice', () => {
  expect(wants('beat', 'role', ['compressor', 'relief'])).toBe(true);
  expect(wants('beat', 'role', ['relief'])).toBe(false);
  expect(wants('breaths', 'role', ['leader'])).toBe(false);
  expect(wants('voice', 'on', [])).toBe(true);
  expect(wants('voice', 'off', ['leader'])).toBe(false);
});

test('a device is as loud as the loudest of its roles', () => {
  expect(stepFor({}, ['compressor', 'relief'])).toBe(4);
  expect(stepFor({ compressor: 1 }, ['compressor', 'relief'])).toBe(2);
  expect(stepFor({}, [])).toBe(2);
  expect([gainOf(4), gainOf(3), gainOf(1)]).toEqual([1, 0.5, 0.125]);
});

test('breaths: each so many seconds with an advanced airway, after so many beats without', () => {
  const each = { phase: 'arrest', hands: hands({ now: 'pause', observed: stopped }), breath_rhythm: { each_s: 6 } } as const;
  expect(breathsOf(each, null)).toEqual({ kind: 'each', period_ms: 6_000 });
  expect(breathsOf({ ...each, hands: hands({ now: 'clear' }) }, null)).toBeNull();
  expect(breathsOf(each, 3_000)).toBeNull();
  const ratio = { ...each, hands: hands(), breath_rhythm: { after_compressions: 30, gap_s: 4 } };
  expect(breathsOf(ratio, null)).toEqual({ kind: 'ratio', after_compressions: 30, gap_s: 4, since_ms: 10_000 });
  expect(breathsOf({ ...ratio, hands: hands({ observed: stopped }) }, null)).toBeNull();
});
