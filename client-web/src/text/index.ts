//! Looks a label up in the language of this device and fills it in. It must not hold labels itself.
import { message, type Fill } from './catalogue.svelte';
import { en, type Key } from './en';

export { language, locale, said, useLanguage } from './catalogue.svelte';
export type { Key } from './en';

/** The label for a key, with `{name}` filled in. A screen that shows it follows a change of language. */
export function t(key: Key, fill: Fill = {}): string {
  return message(key, fill);
}

/** The label for a word of an open set, such as a drug's id; the word itself, made readable, if there is none. */
export function word(prefix: string, id: string): string {
  const key = `${prefix}.${id}`;
  if (Object.hasOwn(en, key)) return t(key as Key);
  const plain = id.replaceAll('_', ' ');
  return plain.charAt(0).toUpperCase() + plain.slice(1);
}
