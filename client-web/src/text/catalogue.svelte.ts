//! The catalogue in use. English is always there; another is fetched when it is chosen and put in place whole, so that no
//! screen ever shows two languages or waits for one. It must not hold labels, or know who chose.
import { IntlMessageFormat } from 'intl-messageformat';
import { en, type Catalogue, type Key } from './en';
import { localeOf, type Language } from './languages';
import { plainNumber } from './numbers';
import { placesOf } from './places';
import { typeset } from './typeset';

/** Where the others are. Each is a file of its own in the build. */
const FETCH: { readonly [language in Exclude<Language, 'en'>]: () => Promise<Catalogue> } = {
  es: async () => (await import('./es')).es,
  fr: async () => (await import('./fr')).fr,
  pt: async () => (await import('./pt')).pt,
};

/** A message that was read, and its places: filled with text, or counted to choose a form. */
interface Read {
  readonly format: IntlMessageFormat;
  readonly places: ReadonlyMap<string, 'text' | 'count'>;
}

/** A language with its words and its rules for numbers, and the messages read so far. */
interface Spoken {
  readonly language: Language;
  readonly locale: string;
  readonly catalogue: Catalogue;
  readonly messages: Map<Key, Read>;
}

const asked = (): readonly string[] => globalThis.navigator?.languages ?? [];
const spokenIn = (language: Language, catalogue: Catalogue): Spoken => ({
  language,
  locale: localeOf(language, asked()),
  catalogue,
  messages: new Map(),
});

let spoken = $state.raw<Spoken>(spokenIn('en', en));
/** The last one asked for: a slow answer to an earlier choice never overrules a later one. */
let wanted: Language = 'en';

/** The language in use; reading it follows every change. */
export const language = (): Language => spoken.language;
/** The tag by whose rules numbers are written. */
export const locale = (): string => spoken.locale;

/** Puts a language in place; false if it could not be fetched: then the present one stays. */
export async function useLanguage(next: Language): Promise<boolean> {
  wanted = next;
  try {
    const catalogue = next === 'en' ? en : await FETCH[next]();
    if (wanted === next) {
      spoken = spokenIn(next, catalogue);
      if (globalThis.document) document.documentElement.lang = next;
    }
    return true;
  } catch {
    return false;
  }
}

/** What a place in a message is filled with. */
export type Fill = { readonly [place: string]: string | number };

/** The message for a key, its places filled in; a place that nothing fills shows its name. Each message is read once. */
export function message(key: Key, fill: Fill): string {
  const { messages, catalogue, language, locale } = spoken;
  let read = messages.get(key);
  if (read === undefined) {
    const format = new IntlMessageFormat(typeset(catalogue[key], language), locale, undefined, { ignoreTag: true });
    read = { format, places: placesOf(format.getAst()) };
    messages.set(key, read);
  }
  const values: { [place: string]: string | number } = {};
  for (const [place, kind] of read.places) {
    const value = fill[place] ?? `{${place}}`;
    values[place] = kind === 'text' && typeof value === 'number' ? plainNumber(value, locale) : value;
  }
  return String(read.format.format(values));
}
