//! Numbers by the rules of a language: its decimal mark, its digits. Groups are never marked: what separates thousands in one
//! language is the decimal mark of another, and a dose read on the wrong one is a thousandfold error. Pure.

const FORMATS = new Map<string, Intl.NumberFormat>();

function formatOf(locale: string, least: number, most: number): Intl.NumberFormat {
  const key = `${locale} ${least} ${most}`;
  let format = FORMATS.get(key);
  if (format === undefined) {
    format = new Intl.NumberFormat(locale, { minimumFractionDigits: least, maximumFractionDigits: most, useGrouping: false });
    FORMATS.set(key, format);
  }
  return format;
}

/** A number without needless decimals: a zero before the mark, never one at the end (ISMP's list of error-prone notations). */
export const plainNumber = (value: number, locale: string): string => formatOf(locale, 0, 3).format(value);

/** A reading with as many decimals as its instrument has, such as a temperature. */
export const fixedNumber = (value: number, decimals: number, locale: string): string => formatOf(locale, decimals, decimals).format(value);

/** The mark between whole and part: `.` or `,`. */
export function decimalMark(locale: string): string {
  return formatOf(locale, 1, 1).formatToParts(0.5).find((part) => part.type === 'decimal')?.value ?? '.';
}
