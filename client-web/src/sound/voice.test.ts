//! Which voice speaks.
import { expect, test } from 'vitest';
import { voiceFor } from './voice';

const voice = (lang: string, localService: boolean, byDefault = false) => ({ lang, localService, default: byDefault });

test('a voice of the language, on the device before one that needs the internet, of the region before another', () => {
  const [far, near, region, other] = [voice('es-MX', false, true), voice('es-ES', true), voice('es_MX', true), voice('en-US', true, true)];
  expect(voiceFor([other, far, near], 'es-MX')).toBe(near);
  expect(voiceFor([other, far, near, region], 'es-MX')).toBe(region);
  expect(voiceFor([far], 'es')).toBe(far);
});

test('words are never read out by a voice of another language', () => {
  expect(voiceFor([voice('en-US', true, true)], 'pt-BR')).toBeNull();
  expect(voiceFor([], 'en')).toBeNull();
});
