//! No message that nothing shows, and no key that has no message. Keys stand in the sources as they are, or are put together
//! from a prefix (`do.${action}`, `word('drug', id)`).
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { en as everywhere } from './en';
import { reviewEn } from './review/en';

const en = { ...everywhere, ...reviewEn };
const SOURCES = new URL('../', import.meta.url);
const files = readdirSync(SOURCES, { recursive: true, encoding: 'utf8' })
  .filter((name) => /\.(?:ts|svelte)$/.test(name) && !/\.test\.ts$|^text\/(?:review\/)?(?:en|es|fr|pt)\.ts$|^wire\//.test(name))
  .map((name) => readFileSync(new URL(name, SOURCES), 'utf8'));
const text = files.join('\n');

/** Keys and prefixes as they stand in quotes. */
const literal = new Set([...text.matchAll(/'([a-z_0-9]+(?:\.[a-z_0-9]+)*)'/g)].map(([, one]) => one ?? ''));
/** `do.${…}` and `do.${…}.ahead`, as patterns. */
const composed = [...text.matchAll(/`([a-z_0-9.]+\.)\$\{[^}`]*\}((?:\.[a-z_0-9]+)*)`/g)].map(([, before, after]) => ({ before: before ?? '', after: after ?? '' }));
/** The prefixes of `word('drug', id)`, and of the choices that use it. */
const words = [...text.matchAll(/\bwords?\(\s*'([a-z_.]+)'/g)].map(([, one]) => `${one}.`);

const matches = (key: string, one: { before: string; after: string }): boolean =>
  key.startsWith(one.before) && key.endsWith(one.after) && key.length > one.before.length + one.after.length;

test('every message is shown somewhere', () => {
  const used = (key: string): boolean =>
    literal.has(key) || composed.some((one) => matches(key, one)) || words.some((prefix) => key.startsWith(prefix));
  expect(Object.keys(en).filter((key) => !used(key))).toEqual([]);
});

test('every prefix has messages', () => {
  const keys = Object.keys(en);
  expect([...words].filter((prefix) => !keys.some((key) => key.startsWith(prefix)))).toEqual([]);
  const groups = new Set(keys.map((key) => key.split('.')[0]));
  const ours = composed.filter((one) => groups.has(one.before.split('.')[0]));
  expect(ours.length).toBeGreaterThan(20);
  expect(ours.filter((one) => !keys.some((key) => matches(key, one))).map((one) => `${one.before}…${one.after}`)).toEqual([]);
});

test('a scan that finds nothing would find this', () => {
  expect(literal.has('app.notice')).toBe(true);
  expect(literal.has('app.never_was')).toBe(false);
});
