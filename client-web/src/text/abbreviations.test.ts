//! Every clinical abbreviation on a screen stands in `abbreviations.json`, with the guideline of its language that has it, or
//! marked for review; and `docs/languages.md` says the same.
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { abbreviationsIn } from './abbreviations_in';
import list from './abbreviations.json';
import { es } from './es';
import { fr } from './fr';
import { pt } from './pt';
import { reviewEs } from './review/es';
import { reviewFr } from './review/fr';
import { reviewPt } from './review/pt';

const TEXTS = {
  es: Object.values({ ...es, ...reviewEs }),
  fr: Object.values({ ...fr, ...reviewFr }),
  pt: Object.values({ ...pt, ...reviewPt }),
};

test.each(['es', 'fr', 'pt'] as const)('each abbreviation in %s is listed with a state', (language) => {
  const listed = new Set(list.abbreviations.filter((one) => one.language === language || one.language === 'all').map((one) => one.short));
  const plain = [...list.not_clinical, ...list.words_in_capitals];
  const found = new Set(TEXTS[language].flatMap(abbreviationsIn));
  expect(found.size).toBeGreaterThan(10);
  expect([...found].filter((one) => !listed.has(one) && !plain.includes(one))).toEqual([]);
});

test('a state is a named source, or null for review; nothing is listed twice', () => {
  const sources = Object.keys(list.sources);
  for (const one of list.abbreviations) if (one.source !== null) expect(sources, one.short).toContain(one.source);
  const names = list.abbreviations.map((one) => `${one.language} ${one.short}`);
  expect(new Set(names).size).toBe(names.length);
  for (const source of sources) expect(list.abbreviations.map((one) => one.source), source).toContain(source);
});

test('the page for reviewers lists them', () => {
  const page = readFileSync(new URL('../../../docs/languages.md', import.meta.url), 'utf8');
  for (const one of list.abbreviations) {
    const state = one.source === null ? '**for review**' : one.source;
    expect(page, 'run `npm run vocabulary`').toContain(`| ${one.language} | ${one.short} | ${one.long} | ${one.english} | ${state} |`);
  }
  for (const one of list.review) expect(page, 'run `npm run vocabulary`').toContain(`| ${one.language} | ${one.shown} | ${one.english} | ${one.why} |`);
});
