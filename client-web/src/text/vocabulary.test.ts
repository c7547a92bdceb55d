//! Every label stands in docs/vocabulary.md, with the words it has on the screen.
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { en } from './en';
import { reviewEn } from './review/en';
import { LANGUAGES } from './languages';

test('the vocabulary lists every label as it is', () => {
  const vocabulary = readFileSync(new URL('../../../docs/vocabulary.md', import.meta.url), 'utf8');
  const missing = Object.entries({ ...en, ...reviewEn })
    .filter(([, label]) => label !== '')
    .filter(([key, label]) => {
      const row = vocabulary.split('\n').find((line) => line.endsWith(`| \`${key}\` |`));
      return !row?.startsWith(`| ${label} |`);
    });
  expect(missing, 'run `npm run vocabulary`').toEqual([]);
});

test('and the page that helps a tablet to trust the server', () => {
  const read = (path: string) => readFileSync(new URL(path, import.meta.url), 'utf8');
  const labels = LANGUAGES.map((language) =>
    [...read(`../../../server/src/web/trust/${language}.html`).matchAll(/<(?:h1|summary|a|button)\b[^>]*>([^<{]+)/g)].map(([, label]) => (label ?? '').trim()),
  );
  const rows = (labels[0] ?? []).map((_, place) => `| ${labels.map((of) => of[place] ?? '').join(' | ')} | page without TLS |`);
  const listed = read('../../../docs/vocabulary.md');
  expect(rows.length).toBeGreaterThan(6);
  expect(rows.filter((row) => !listed.includes(row)), 'run `npm run vocabulary`').toEqual([]);
});
