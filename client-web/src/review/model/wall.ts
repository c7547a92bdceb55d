//! Wall-clock times as people write them, in the browser's own zone. Nothing is computed from them.

/** `26 Nov 2026, 09:14 UTC`; without the zone where a whole list is in it. */
export function wallText(at: string, locale: string, zone = true): string {
  const date = new Date(at);
  return Number.isNaN(date.getTime()) ? at : new Intl.DateTimeFormat(locale, { year: 'numeric', month: 'short', day: 'numeric', hour: 'numeric', minute: '2-digit', ...(zone ? { timeZoneName: 'short' } : {}) }).format(date);
}

/** The moment at which a day (`2026-11-26`) begins in the browser's own zone; what is no day stays as it is. */
export function dayBegins(day: string): string {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day);
  return parts ? new Date(Number(parts[1]), Number(parts[2]) - 1, Number(parts[3])).toISOString() : day;
}

/** Reads `m:ss` or `m:ss.t`, or whole minutes, as milliseconds; null if it is none of them. */
export function readTime(text: string): number | null {
  const parts = /^\s*([-−]?)(\d{1,4})(?::([0-5]\d)(?:[.,](\d{1,3}))?)?\s*$/.exec(text);
  if (!parts) return null;
  const ms = (Number(parts[2]) * 60 + Number(parts[3] ?? 0)) * 1000 + Number((parts[4] ?? '').padEnd(3, '0'));
  return parts[1] ? -ms : ms;
}

/** The same, written: with a part of a second only where there is one. */
export function writeTime(ms: number): string {
  const size = Math.abs(Math.round(ms));
  const [minute, second, part] = [Math.floor(size / 60_000), Math.floor(size / 1000) % 60, size % 1000];
  return `${ms < 0 ? '−' : ''}${minute}:${String(second).padStart(2, '0')}${part === 0 ? '' : `.${String(part).padStart(3, '0').replace(/0+$/, '')}`}`;
}
