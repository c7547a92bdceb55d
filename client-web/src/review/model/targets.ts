//! Targets and figures in words. Pure but for the language; the server judged, nothing is judged here.
import { amount, clockText } from '../../model/format';
import { t, word } from '../../text';
import { r } from '../../text/review';
import type { Bound, Figures, Gap, Missed, ReviewedCode, Target } from '../../wire/generated';
import { seconds } from './marks';

/** `78 %`; whole percents, since taps are no finer. */
export const percent = (fraction: number | null | undefined): string => (fraction === null || fraction === undefined ? r('review.none') : r('review.percent', { value: amount(Math.round(fraction * 100)) }).replace(' ', '\u00a0'));
/** How long something took, as minutes and seconds; a dash where nobody recorded it. */
export const span = (ms: number | null | undefined): string => (ms === null || ms === undefined ? r('review.none') : clockText(ms));

/** What a target asks, in words. */
export function boundText(bound: Bound): string {
  switch (bound.kind) {
    case 'at_least':
      return r('review.bound.at_least', { value: percent(bound.fraction) });
    case 'above':
      return r('review.bound.above', { value: percent(bound.fraction) });
    case 'at_most':
      return r('review.bound.at_most', { value: lengthText(bound.ms) });
    case 'under':
      return r('review.bound.under', { value: lengthText(bound.ms) });
    case 'between':
      return r('review.bound.between', { low: lengthText(bound.low_ms), high: lengthText(bound.high_ms) });
    case 'about':
      return r('review.bound.about', { value: lengthText(bound.ms) });
    case 'none':
      return r('review.bound.none');
  }
}

const lengthText = (ms: number): string => (ms >= 60_000 && ms % 60_000 === 0 ? r('review.minutes', { minutes: ms / 60_000 }) : seconds(ms));

/** How a target stands: met, missed, shown without being judged, or not this code's. */
export type Standing = 'met' | 'missed' | 'shown' | 'absent';
export function standingOf(target: Target): Standing {
  if (target.of === 0) return 'absent';
  if (target.bound.kind === 'about' || target.bound.kind === 'none') return 'shown';
  return target.held === target.of ? 'met' : 'missed';
}

/** What was measured for it, in words. */
export function measured(target: Target, figures: Figures): string {
  switch (target.name) {
    case 'compression_fraction':
    case 'compression_fraction_goal':
      return percent(figures.compression_fraction);
    case 'first_shock':
      return span(figures.first_shock_ms);
    case 'first_epinephrine':
      return span(figures.first_epinephrine_ms);
    case 'charging_compressions':
      return percent(figures.charging_compression_fraction);
    case 'finger_ready':
      return target.of === 0 ? r('review.none') : r('review.share', { held: target.held, of: target.of });
    case 'check_intervals':
      return intervals(figures.check_intervals_ms);
    case 'compressor_spells':
      return intervals(figures.compressor_spells_ms);
    default:
      return target.of === 0 ? r('review.none') : r('review.share.met', { held: target.held, of: target.of });
  }
}

const intervals = (all: readonly number[]): string => (all.length === 0 ? r('review.none') : all.map(clockText).join(', '));

/** A moment that missed a target: `3:12, 14 s`. */
export function missedText(missed: Missed): string {
  const at = clockText(missed.at_ms);
  const length_ms = missed.value_ms ?? (missed.until_ms === undefined || missed.until_ms === null ? null : missed.until_ms - missed.at_ms);
  return length_ms === null || length_ms === undefined ? at : r('review.missed', { at, time: length_ms >= 60_000 ? clockText(length_ms) : seconds(length_ms) });
}

/** A gap in the record, in words; a target that is missing names nothing more than where. */
export const gapText = (gap: Gap): string => `${clockText(gap.at_ms)} ${r(`review.gap.${gap.what}`)}`;

/** Figures without a target, as lines of name and value. */
export function figureLines(code: ReviewedCode): [name: string, value: string][] {
  const { figures } = code;
  return [
    [r('review.figure.arrest'), span(figures.arrest_ms)],
    [r('review.figure.no_flow'), span(figures.no_flow_ms)],
    [r('review.figure.low_flow'), span(figures.low_flow_ms)],
    [r('review.figure.from_first'), percent(figures.compression_fraction_from_first)],
    [r('review.figure.pauses'), r('review.figure.pauses.value', { count: figures.pauses.length, long: figures.pauses_over_10_s })],
    [r('review.figure.longest'), figures.longest_pause_ms === null ? r('review.none') : seconds(figures.longest_pause_ms)],
    [r('review.figure.shocks'), amount(figures.shocks.length)],
    [r('review.figure.first_rhythm'), figures.first_rhythm === null ? r('review.none') : word('rhythm', figures.first_rhythm)],
    [r('review.figure.first_compression'), span(figures.first_compression_ms)],
    [r('review.figure.first_access'), span(figures.first_access_ms)],
    [r('review.figure.first_airway'), span(figures.first_advanced_airway_ms)],
    [t('tap.rosc'), span(figures.rosc_ms)],
  ];
}

/** The estimate of pauses for breaths, which the compression fraction does not know of: `47.8 s (8 % of the arrest)`. */
export function breathsText({ figures }: ReviewedCode): string {
  const { breath_pauses_estimate_ms: estimate_ms, arrest_ms } = figures;
  return r('review.breaths', { time: estimate_ms < 60_000 ? seconds(estimate_ms) : clockText(estimate_ms), part: percent(arrest_ms > 0 ? estimate_ms / arrest_ms : null) });
}
