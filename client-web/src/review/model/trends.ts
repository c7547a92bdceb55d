//! Trends in the shape that charts and tables take, in words. Pure but for the language; every number is the server's.
import { amount, clockText } from '../../model/format';
import { r } from '../../text/review';
import type { Quartiles, ShareFigure, Signal, TargetName, TrendSide, Unit, ValueName } from '../../wire/generated';
import { seconds } from './marks';
import { percent } from './targets';

/** A month on a chart. */
export interface ChartPoint {
  month: string;
  value: number;
  limits: { low: number; high: number } | null;
  /** Quartiles of the month, or the interval of its share. */
  around: { low: number; high: number } | null;
  signals: readonly Signal[];
  few: boolean;
  /** The value with what is around it and how many it is made of. */
  words: string;
}

/** A chart of one side. */
export interface SideChart {
  points: ChartPoint[];
  centre: number | null;
  provisional: boolean;
  unit: Unit;
}

/** What may be looked at: a figure with a value, or a target with a share. */
export type Looked = { of: 'value'; name: ValueName } | { of: 'target'; name: TargetName };

/** A value in its unit. */
export function valueText(value: number, unit: Unit): string {
  if (unit === 'fraction') return percent(value);
  if (unit === 'count') return amount(Math.round(value * 10) / 10);
  return value >= 60_000 ? clockText(value) : seconds(value);
}

/** `78 % (71 % to 84 %), n = 12`, and that it is few. */
export function quartilesText(one: Quartiles | null | undefined, unit: Unit): string {
  if (!one) return r('review.none');
  const text = r('review.trend.quartiles', { median: valueText(one.median, unit), low: valueText(one.lower, unit), high: valueText(one.upper, unit), n: one.n });
  return one.few ? r('review.trend.few', { what: text }) : text;
}
/** `14 of 20: 70 % (48 % to 85 %)`, and that it is few. */
export function shareText(one: ShareFigure | null | undefined): string {
  if (!one) return r('review.none');
  const text = r('review.trend.share', { hits: one.hits, of: one.of, share: percent(one.fraction), low: percent(one.interval.lower), high: percent(one.interval.upper) });
  return one.few ? r('review.trend.few', { what: text }) : text;
}

/** The chart of what is looked at; null where there are too few months for one. */
export function chartOf(side: TrendSide, looked: Looked): SideChart | null {
  if (looked.of === 'value') {
    const trend = side.trends.values.find((one) => one.name === looked.name);
    if (!trend?.chart) return null;
    const { chart, months } = trend.chart;
    const points = chart.points.map((point, place) => {
      const month = months[place] ?? '';
      const quartiles = trend.by_month[side.trends.months.findIndex((one) => one.month === month)] ?? null;
      return {
        month, value: point.value, limits: { low: chart.limits.lower, high: chart.limits.upper }, around: quartiles ? { low: quartiles.lower, high: quartiles.upper } : null,
        signals: point.signals, few: quartiles?.few ?? false, words: quartilesText(quartiles, trend.unit),
      };
    });
    return { points, centre: chart.centre, provisional: chart.provisional, unit: trend.unit };
  }
  const trend = side.trends.targets.find((one) => one.name === looked.name);
  if (!trend?.chart) return null;
  const { chart, months } = trend.chart;
  const points = chart.points.map((point, place) => ({
    month: months[place] ?? '', value: point.fraction, limits: { low: point.limits.lower, high: point.limits.upper }, around: { low: point.interval.lower, high: point.interval.upper },
    signals: point.signals, few: point.few, words: shareText(point),
  }));
  return { points, centre: chart.centre, provisional: chart.provisional, unit: 'fraction' };
}

/** From the least to the greatest that any of these charts shows; a share always from 0 to 1. */
export function domainOf(charts: readonly (SideChart | null)[]): [number, number] {
  const all = charts.flatMap((chart) => chart?.points.flatMap((point) => [point.value, point.limits?.low ?? point.value, point.limits?.high ?? point.value, point.around?.low ?? point.value, point.around?.high ?? point.value]) ?? []);
  if (charts.some((chart) => chart?.unit === 'fraction')) return [0, 1];
  return [Math.min(0, ...all), Math.max(1, ...all)];
}
