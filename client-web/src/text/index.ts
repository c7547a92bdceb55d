//! Looks a label up and fills it in. It must not hold labels itself.
import { en, type Key } from './en';

export type { Key } from './en';

/** The label for a key, with `{name}` filled in. */
export function t(key: Key, fill: { [name: string]: string | number } = {}): string {
  return en[key].replace(/\{(\w+)\}/g, (whole, name: string) => String(fill[name] ?? whole));
}

/** The label for a word of an open set, such as a drug's id; the word itself, made readable, if there is none. */
export function word(prefix: string, id: string): string {
  const key = `${prefix}.${id}`;
  if (key in en) return t(key as Key);
  const plain = id.replaceAll('_', ' ');
  return plain.charAt(0).toUpperCase() + plain.slice(1);
}
