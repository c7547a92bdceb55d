//! Numbers by language, against the Unicode CLDR as published (main/*/numbers: symbols, from memory) and the ISMP's list of
//! error-prone notations.
import { expect, test } from 'vitest';
import { decimalMark, fixedNumber, plainNumber } from './numbers';

// CLDR: decimal comma in es, es-AR, fr, fr-CA, pt, pt-PT; point in en, es-MX, es-US.
test.each([
  ['en', '0.5', '.'], ['en-GB', '0.5', '.'], ['es', '0,5', ','], ['es-AR', '0,5', ','], ['es-MX', '0.5', '.'], ['fr', '0,5', ','],
  ['fr-CA', '0,5', ','], ['pt', '0,5', ','], ['pt-BR', '0,5', ','], ['pt-PT', '0,5', ','],
])('half a milligram in %s is %s', (locale, text, mark) => {
  expect(plainNumber(0.5, locale)).toBe(text);
  expect(decimalMark(locale)).toBe(mark);
});

test.each(['en', 'es', 'fr', 'pt'])('in %s nothing is read tenfold or a thousandfold', (locale) => {
  // ISMP: a leading zero always, a trailing one never; thousands are not marked, since one language's mark is another's decimal.
  expect(plainNumber(5, locale)).toBe('5');
  expect(plainNumber(5.1, locale)).toMatch(/^5[.,]1$/);
  expect(plainNumber(0.1 + 0.2, locale)).toMatch(/^0[.,]3$/);
  expect(plainNumber(1000, locale)).toBe('1000');
  expect(plainNumber(12345.5, locale)).toMatch(/^12345[.,]5$/);
  expect(fixedNumber(29, 1, locale)).toMatch(/^29[.,]0$/);
});
