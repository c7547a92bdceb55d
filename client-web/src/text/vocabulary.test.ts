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
