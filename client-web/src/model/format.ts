//! Numbers as people read them, by the rules of this device's language. No labels.
import { locale } from '../text';
import { fixedNumber, plainNumber } from '../text/numbers';

/** m:ss, with a minus sign before recognition; whole seconds that have passed. */
export function clockText(ms: number): string {
  const sign = ms < 0 ? '−' : '';
  const seconds = ms < 0 ? Math.ceil(-ms / 1000) : Math.floor(ms / 1000);
  return sign + minutes(seconds);
}

/** What is left until something, rounded up: it shows 0:01 until the moment itself. */
export function leftText(ms: number): string {
  return minutes(Math.max(0, Math.ceil(ms / 1000)));
}

/** How long something lasts, in whole seconds that have passed. */
export function spanText(ms: number): string {
  return minutes(Math.max(0, Math.floor(ms / 1000)));
}

function minutes(seconds: number): string {
  const minute = Math.floor(seconds / 60);
  return `${minute}:${String(seconds % 60).padStart(2, '0')}`;
}

/** Reads m:ss or mm:ss or plain minutes; null if it is neither. */
export function readClock(text: string): number | null {
  const parts = /^\s*(-?)(\d{1,3})(?::([0-5]?\d))?\s*$/.exec(text);
  if (!parts) return null;
  const ms = (Number(parts[2]) * 60 + Number(parts[3] ?? 0)) * 1000;
  return parts[1] ? -ms : ms;
}

/** A number without needless decimals. */
export const amount = (value: number): string => plainNumber(value, locale());

/** A reading with as many decimals as its instrument has. */
export const reading = (value: number, decimals: number): string => fixedNumber(value, decimals, locale());
