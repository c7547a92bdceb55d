//! The catalogue in use. English is always there; another is fetched when it is chosen and put in place whole, so that no
//! screen ever shows two languages or waits for one. It must not hold labels, or know who chose.
import { IntlMessageFormat } from 'intl-messageformat';
import { en } from './en';
import { localeOf, type Language } from './languages';
import { plainNumber } from './numbers';
import { placesOf } from './places';
import { speaker, type Sentences } from './said';
import { typeset } from './typeset';

/** Labels by key. That all keys are there is what the types of each catalogue's file say. */
export type Labels = { readonly [key: string]: string };

/** A language's own words, and what it makes of the server's sentences. */
interface Words {
  readonly catalogue: Labels;
  readonly sentences: Sentences;
}

/** Where the others are. Each is a file of its own in the build. */
const FETCH: { readonly [language in Exclude<Language, 'en'>]: () => Promise<Words> } = {
  es: async () => (await import('./spoken/es')).words,
  fr: async () => (await import('./spoken/fr')).words,
  pt: async () => (await import('./spoken/pt')).words,
};

/** Labels of a page of its own, which no other page has to load. */
export interface Section {
  readonly en: Labels;
  readonly fetch: { readonly [language in Exclude<Language, 'en'>]: () => Promise<Labels> };
}
let section: Section | null = null;

/** Puts a section beside the labels of every page; before the first language is chosen. */
export function useSection(one: Section): void {
  section = one;
  spoken = spokenIn('en', withSection(ENGLISH, one.en));
}

const withSection = ({ catalogue, sentences }: Words, labels: Labels): Words => ({ catalogue: { ...catalogue, ...labels }, sentences });

/** All words of a language on this page. */
async function wordsOf(language: Language): Promise<Words> {
  const words = language === 'en' ? ENGLISH : await FETCH[language]();
  if (section === null) return words;
  return withSection(words, language === 'en' ? section.en : await section.fetch[language]());
}

/** A message that was read, and its places: filled with text, or counted to choose a form. */
interface Read {
  readonly format: IntlMessageFormat;
  readonly places: ReadonlyMap<string, 'text' | 'count'>;
}

/** A language with its words and its rules for numbers, and the messages read so far. */
interface Spoken {
  readonly language: Language;
  readonly locale: string;
  readonly catalogue: Labels;
  readonly messages: Map<string, Read>;
  /** Says a sentence of the server's. */
  readonly say: (text: string) => string;
}

const asked = (): readonly string[] => globalThis.navigator?.languages ?? [];
/** In English a sentence of the server's stands as it came. */
const asItCame = (text: string): string => text;
function spokenIn(language: Language, { catalogue, sentences }: Words): Spoken {
  const locale = localeOf(language, asked());
  const label = (key: string): string | null => (Object.hasOwn(catalogue, key) ? typeset(catalogue[key] ?? '', language) : null);
  const wordOf = (id: string): string | null => label(`drug.${id}`) ?? label(`circumstance.${id}`);
  const say = language === 'en' ? asItCame : speaker(sentences, language, locale, wordOf);
  return { language, locale, catalogue, messages: new Map(), say };
}

const ENGLISH: Words = { catalogue: en, sentences: {} };
let spoken = $state.raw<Spoken>(spokenIn('en', ENGLISH));
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
    const words = await wordsOf(next);
    if (wanted === next) {
      spoken = spokenIn(next, words);
      if (globalThis.document) document.documentElement.lang = next;
    }
    return true;
  } catch {
    return false;
  }
}

/** A sentence that came from the server, in the language of this device; as it came, if nobody here knows it. */
export const said = (text: string): string => spoken.say(text);

/** What a place in a message is filled with. */
export type Fill = { readonly [place: string]: string | number };

/** The message for a key, its places filled in; a place that nothing fills shows its name. Each message is read once. */
export function message(key: string, fill: Fill): string {
  const { messages, catalogue, language, locale } = spoken;
  let read = messages.get(key);
  if (read === undefined) {
    const format = new IntlMessageFormat(typeset(catalogue[key] ?? key, language), locale, undefined, { ignoreTag: true });
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
