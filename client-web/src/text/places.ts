//! The places of a message as it was read: their names, and whether each is filled with text or counted. Pure.
import { isArgumentElement, isPluralElement, isSelectElement, type MessageFormatElement } from '@formatjs/icu-messageformat-parser';

/** Every place by its name, also those within the forms of another. Counted wins: a number is then kept a number. */
export function placesOf(elements: readonly MessageFormatElement[]): Map<string, 'text' | 'count'> {
  const places = new Map<string, 'text' | 'count'>();
  const walk = (inside: readonly MessageFormatElement[]): void => {
    for (const one of inside) {
      if (isArgumentElement(one) && !places.has(one.value)) places.set(one.value, 'text');
      if (!isPluralElement(one) && !isSelectElement(one)) continue;
      if (isPluralElement(one)) places.set(one.value, 'count');
      else if (!places.has(one.value)) places.set(one.value, 'text');
      for (const form of Object.values(one.options)) walk(form.value);
    }
  };
  walk(elements);
  return places;
}

/** The forms of each choice by number within a message, by their CLDR names. */
export function formsOf(elements: readonly MessageFormatElement[]): string[][] {
  return elements.flatMap((one) => {
    if (!isPluralElement(one) && !isSelectElement(one)) return [];
    const inside = Object.values(one.options).flatMap((form) => formsOf(form.value));
    return isPluralElement(one) ? [Object.keys(one.options), ...inside] : inside;
  });
}
