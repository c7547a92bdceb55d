//! Preferences of a device: kept, read back, and never trusted.
import { afterEach, expect, test, vi } from 'vitest';
import { preferred, localeOf } from '../text/languages';
import { between, onOff, oneOf, prefer, preferences, readPreference } from './preferences.svelte';

afterEach(() => vi.unstubAllGlobals());

const storage = (kept: { [key: string]: string }): void => {
  vi.stubGlobal('localStorage', {
    getItem: (key: string) => kept[key] ?? null,
    setItem: (key: string, value: string) => {
      kept[key] = value;
    },
  });
};

test('a choice is kept and read back', () => {
  const kept = {};
  storage(kept);
  prefer('language', 'fr');
  expect(preferences.language).toBe('fr');
  expect(readPreference('language')).toBe('fr');
  expect(kept).toEqual({ 'coxswain.device.language': '"fr"' });
});

test('what was kept and makes no sense counts as nothing', () => {
  vi.stubGlobal('navigator', { languages: ['pt-BR', 'en'] });
  for (const text of ['"xx"', '7', 'null', '{broken', '']) {
    storage({ 'coxswain.device.language': text });
    expect(readPreference('language'), text).toBe('pt');
  }
});

test('a browser that keeps nothing still takes a choice', () => {
  const refuse = (): never => {
    throw new Error('no storage here');
  };
  vi.stubGlobal('localStorage', { getItem: refuse, setItem: refuse });
  vi.stubGlobal('navigator', { languages: ['de'] });
  expect(readPreference('language')).toBe('en');
  prefer('language', 'es');
  expect(preferences.language).toBe('es');
});

test('each kind of preference takes its own values only', () => {
  expect(oneOf(['left', 'right'], () => 'right').read('left')).toBe('left');
  expect(oneOf(['left', 'right'], () => 'right').read('up')).toBeNull();
  expect(onOff(true).read(false)).toBe(false);
  expect(onOff(true).read('false')).toBeNull();
  expect(between(0, 1, 0.5).read(0)).toBe(0);
  expect(between(0, 1, 0.5).read(1.1)).toBeNull();
  expect(between(0, 1, 0.5).read('1')).toBeNull();
});

test('the browser’s first language that is one of ours counts, with its region for numbers', () => {
  expect(preferred(['de-DE', 'fr-CA', 'es'])).toBe('fr');
  expect(preferred(['PT'])).toBe('pt');
  expect(preferred([])).toBe('en');
  expect(localeOf('es', ['en', 'es-MX'])).toBe('es-MX-u-nu-latn');
  expect(localeOf('es', ['en-GB'])).toBe('es-u-nu-latn');
  expect(localeOf('es', ['es-419-x-odd'])).toBe('es-u-nu-latn');
});
