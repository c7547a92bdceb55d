//! Which stretch of a code is drawn. A single fact far off, by a slip of a date or a wrong sign, must not stretch the picture over a
//! year: what lies outside is told in words. Pure.
import type { ReviewedCode } from '../../wire/generated';
import { factsOf, type Fact } from './facts';

type Span = readonly [from_ms: number, to_ms: number];

/** Facts farther from one another than this are not of one course of events. Ours. */
const APART_MS = 30 * 60_000;
/** No picture is longer than this. Ours: longer than any arrest that a team of one shift works through. */
export const LONGEST_MS = 12 * 3_600_000;
/** So much of the code stands in one line of the picture on paper, if it has room. */
const LINE_MS = 12 * 60_000;
/** So many lines it has at most. */
export const MOST_LINES = 20;

/** Times that follow one another closely, each group in order. */
function groups(times: readonly number[]): number[][] {
  const found: number[][] = [];
  for (const at_ms of [...times].sort((one, other) => one - other)) {
    const last = found.at(-1);
    if (last && at_ms - (last.at(-1) ?? at_ms) <= APART_MS) last.push(at_ms);
    else found.push([at_ms]);
  }
  return found;
}
const spanning = (group: readonly number[]): Span => [group[0] ?? 0, group.at(-1) ?? 0];

/** Where most of an arrest was recorded, and with it every other arrest of this code that lies near enough for one picture. */
function core(code: ReviewedCode): Span {
  const moments = code.course.flatMap((arrest) => [arrest.start_ms, arrest.end_ms, ...arrest.compressed.flatMap((one) => [one.start_ms, one.end_ms])]);
  const arrests = new Set(moments);
  const all = groups([...factsOf(code).map((fact) => fact.at_ms), ...moments]);
  const of_arrests = all.filter((group) => group.some((at_ms) => arrests.has(at_ms)));
  const fullest = (of_arrests.length > 0 ? of_arrests : all).reduce<readonly number[]>((best, group) => (group.length > best.length ? group : best), []);
  let [from_ms, to_ms] = spanning(fullest);
  for (const [first_ms, last_ms] of of_arrests.map(spanning)) {
    const both: Span = [Math.min(from_ms, first_ms), Math.max(to_ms, last_ms)];
    if (both[1] - both[0] <= LONGEST_MS) [from_ms, to_ms] = both;
  }
  return [from_ms, Math.min(to_ms, from_ms + LONGEST_MS)];
}

/** What the picture shows: a minute or more, with a little room on both sides. */
export function spanOf(code: ReviewedCode): Span {
  const [from_ms, last_ms] = core(code);
  const to_ms = Math.max(from_ms + 60_000, last_ms);
  const room_ms = (to_ms - from_ms) * 0.015;
  return [from_ms - room_ms, to_ms + room_ms];
}

/** What lies outside of the picture, in order of time. */
export function outside(code: ReviewedCode): Fact[] {
  const [from_ms, to_ms] = spanOf(code);
  return factsOf(code).filter((fact) => fact.at_ms < from_ms || fact.at_ms > to_ms);
}

/** The lines of the picture on paper, of equal length. */
export function linesOf([from_ms, to_ms]: Span): Span[] {
  const count = Math.min(MOST_LINES, Math.max(1, Math.ceil((to_ms - from_ms) / LINE_MS)));
  const each_ms = (to_ms - from_ms) / count;
  return Array.from({ length: count }, (_, place) => [from_ms + place * each_ms, from_ms + (place + 1) * each_ms] as const);
}
