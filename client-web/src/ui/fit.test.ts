import { expect, test } from 'vitest';
import { largest } from './fit';

/** A text of so many letters in a box, roughly as a browser breaks it: a letter is half as wide as it is high. */
const paragraph = (letters: number, width: number, height: number) => (size_px: number): number => {
  const lines = Math.ceil((letters * size_px * 0.5) / width);
  return Math.min(1, Math.sqrt(height / (lines * size_px * 1.04))) * (lines * size_px * 1.04 <= height ? 1 : 0.9999);
};

test('the largest size that fits is found, whatever the guesses were', () => {
  for (const letters of [3, 12, 25, 60, 140]) {
    for (const [width, height] of [[300, 60], [340, 150], [600, 240], [900, 90]] as const) {
      const room = paragraph(letters, width, height);
      const found = largest(height, room);
      let brute = 12;
      for (let size = 12; size <= height; size += 1) if (room(size) >= 1) brute = size;
      expect([letters, width, height, found]).toEqual([letters, width, height, brute]);
    }
  }
});

test('a text that fits at once is tried once, since each try lays out the page', () => {
  let tries = 0;
  expect(largest(44.5, () => (tries += 1, 1))).toBe(44.5);
  expect(tries).toBe(1);
});

test('a text that fits nowhere gets the smallest size', () => {
  expect(largest(80, () => 0.3)).toBe(12);
});
