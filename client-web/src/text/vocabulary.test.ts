//! Every label stands in docs/vocabulary.md, with the words it has on the screen.
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { en } from './en';

test('the vocabulary lists every label as it is', () => {
  const vocabulary = readFileSync(new URL('../../../docs/vocabulary.md', import.meta.url), 'utf8');
  const missing = Object.entries(en)
    .filter(([, label]) => label !== '')
    .filter(([key, label]) => {
      const row = vocabulary.split('\n').find((line) => line.endsWith(`| \`${key}\` |`));
      return !row?.startsWith(`| ${label} |`);
    });
  expect(missing, 'run `npm run vocabulary`').toEqual([]);
});

test('and the page that helps a tablet to trust the server', () => {
  const read = (path: string) => readFileSync(new URL(path, import.meta.url), 'utf8');
  const page = read('../../../server/src/web/trust/page.html');
  const labels = [...page.matchAll(/<(?:h1|summary|a|button)\b[^>]*>([^<{]+)/g)].map(([, label]) => label?.trim());
  const listed = read('../../../docs/vocabulary.md');
  expect(labels.length).toBeGreaterThan(6);
  expect(labels.filter((label) => !listed.includes(`| ${label} | | | | page without TLS |`)), 'run `npm run vocabulary`').toEqual([]);
});
