//! What was typed and is not saved stays, for the same person and code alone.
import { beforeEach, describe, expect, test } from 'vitest';
import type { DebriefShown, ReviewedCode } from '../../wire/generated';
import { anyTyped, typedBy, typedOf } from './typed.svelte';

const standing = (id: string, went_well: string): DebriefShown => ({ id, by: 'Ben', at: '2026-11-26T09:00:00Z', went_well, to_change: '', follow_ups: [] });
const code = (debrief?: DebriefShown): ReviewedCode => ({ debrief }) as unknown as ReviewedCode;

describe('what was typed', () => {
  beforeEach(() => { typedBy('nobody'); typedBy('ana'); });

  test('of a debrief is there again when its part is opened again, and after the same person signed in again', () => {
    typedOf('a').begin(code());
    typedOf('a').debrief.went_well = 'compressions through charging';
    typedOf('a').debrief.follow_ups.push({ who: 'charge nurse', what: 'drill' });
    expect(typedOf('a').begin(code())).toBeNull();
    typedBy('ana');
    expect(typedOf('a').debrief).toEqual({ went_well: 'compressions through charging', to_change: '', follow_ups: [{ who: 'charge nurse', what: 'drill' }] });
    expect([typedOf('a').debrief_unsaved, typedOf('b').debrief_unsaved, anyTyped()]).toEqual([true, false, true]);
  });
  test('is never shown to another account', () => {
    typedOf('a').debrief.went_well = 'mine';
    typedOf('a').correct('void', 'r2');
    typedOf('a').correction.reason = 'mine';
    typedBy('ben');
    expect([typedOf('a').debrief.went_well, typedOf('a').correction.reason, anyTyped()]).toEqual(['', '', false]);
  });
  test('is kept when somebody else kept a debrief meanwhile, and that one is told once', () => {
    typedOf('a').begin(code(standing('d1', 'theirs')));
    typedOf('a').debrief.to_change = 'mine';
    expect(typedOf('a').begin(code(standing('d1', 'theirs')))).toBeNull();
    expect(typedOf('a').begin(code(standing('d2', 'newer')))?.went_well).toBe('newer');
    expect(typedOf('a').begin(code(standing('d2', 'newer')))).toBeNull();
    expect(typedOf('a').debrief).toMatchObject({ went_well: 'theirs', to_change: 'mine' });
  });
  test('gives way to what stands where nothing was typed, and once it is saved', () => {
    typedOf('a').begin(code(standing('d1', 'theirs')));
    typedOf('a').begin(code(standing('d2', 'newer')));
    expect(typedOf('a').debrief.went_well).toBe('newer');
    typedOf('a').debrief.went_well = 'mine';
    typedOf('a').took(code(standing('d3', 'mine')));
    expect([typedOf('a').debrief.went_well, typedOf('a').debrief_unsaved]).toEqual(['mine', false]);
  });
  test('of a correction counts from the first change, until it is saved or cancelled', () => {
    const typed = typedOf('a');
    typed.correct('amend', 'r2', '0:45');
    expect(typed.correction_unsaved).toBe(false);
    typed.correction.time = '0:44';
    expect(typed.correction_unsaved).toBe(true);
    typed.correct(null);
    expect([typed.correction_unsaved, typed.correction.time]).toEqual([false, '']);
  });
});
