//! Sentences that come from the server in English, said in this device's language. The engine knows no language: it composes a
//! sentence once, and here it is taken for what it is, by a table of whole sentences and of sentences with places. What stands
//! in no table is shown as it came: a sentence that a department wrote is shown as the department wrote it.
import { IntlMessageFormat } from 'intl-messageformat';
import type { Language } from './languages';
import { plainNumber } from './numbers';
import { placesOf } from './places';
import { typeset } from './typeset';

/** Translations by the English sentence; `{name}` stands for what differs from time to time. */
export type Sentences = { readonly [english: string]: string };

/** A sentence with places: how it is recognised, and what it becomes. */
interface Pattern {
  readonly shape: RegExp;
  readonly names: readonly string[];
  /** Letters outside places: the more, the surer. */
  readonly weight: number;
  readonly format: IntlMessageFormat;
  readonly counted: ReadonlySet<string>;
}

/** What became of a text: in this language, and whether all of it is. */
interface Said {
  readonly text: string;
  readonly known: boolean;
}

const NUMBER = /^\d+(?:\.\d+)?$/;
const CLOCK = /^[-−]?\d+:\d+$/;
const AMOUNT = /^(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))?( ?)(|%|mmHg|kPa|°C|mmol\/L|J\/kg|J|mg\/kg|mg\/mL|mL\/kg|mg|mL|kg|min|h|s)$/;
const TO: { readonly [language in Language]: string } = { en: 'to', es: 'a', fr: 'à', pt: 'a' };
/** Where a text may be cut in two that are each a sentence of their own, and how the two are joined again. */
const JOINTS = ['; ', ': ', '. ', ', '] as const;
/** A pattern with fewer letters than this could be part of anybody's words: what fills it must be known. */
const SURE = 12;
/** Texts differ by their numbers: what is remembered has an end. */
const REMEMBERED = 2000;

/** Says sentences in one language. `wordOf` gives the word for an id, such as a drug's. */
export function speaker(table: Sentences, language: Language, locale: string, wordOf: (id: string) => string | null): (text: string) => string {
  const whole = new Map(Object.entries(table).filter(([english]) => !english.includes('{')));
  const patterns = Object.entries(table)
    .filter(([english]) => english.includes('{'))
    .map(([english, translation]) => patternOf(english, typeset(translation, language), locale))
    .sort((left, right) => right.weight - left.weight);
  const known = new Map<string, Said>();

  const say = (text: string): Said => {
    const before = known.get(text);
    if (before) return before;
    const said = find(text);
    if (known.size >= REMEMBERED) known.clear();
    known.set(text, said);
    return said;
  };
  const find = (text: string): Said => {
    const exact = whole.get(text);
    if (exact !== undefined) return { text: typeset(exact, language), known: true };
    return amountOf(text) ?? byPattern(text, true) ?? byParts(text) ?? byPattern(text, false) ?? { text, known: false };
  };
  const amountOf = (text: string): Said | null => {
    if (CLOCK.test(text)) return { text, known: true };
    const amount = AMOUNT.exec(text);
    if (amount) {
      const number = (digits: string): string => plainNumber(Number(digits), locale);
      const [, from = '', to, space = '', unit = ''] = amount;
      return { text: `${number(from)}${to === undefined ? '' : ` ${TO[language]} ${number(to)}`}${space && unit ? '\u00a0' : ''}${unit}`, known: true };
    }
    const word = /^[a-z][a-z0-9_]+$/.test(text) ? wordOf(text) : null;
    return word === null ? null : { text: word, known: true };
  };
  /** `wholly`: only where all that fills the pattern is known too. Else a pattern of many letters may hold a name of somebody's. */
  const byPattern = (text: string, wholly: boolean): Said | null => {
    for (const pattern of patterns) {
      if (!wholly && pattern.weight < SURE) break;
      const found = pattern.shape.exec(text);
      if (!found) continue;
      const parts = found.slice(1).map(say);
      if (wholly && !parts.every((part) => part.known)) continue;
      const fill = pattern.names.map((name, place) => {
        const raw = found[place + 1] ?? '';
        return [name, pattern.counted.has(name) && NUMBER.test(raw) ? Number(raw) : (parts[place]?.text ?? raw)] as const;
      });
      return { text: String(pattern.format.format(Object.fromEntries(fill))), known: true };
    }
    return null;
  };
  const byParts = (text: string): Said | null => {
    for (const joint of JOINTS) {
      for (let at = text.indexOf(joint); at > 0; at = text.indexOf(joint, at + 1)) {
        // A point stays with the sentence that it ends.
        const cut = joint === '. ' ? at + 1 : at;
        const [left, right] = [say(text.slice(0, cut)), say(text.slice(at + joint.length))];
        if (left.known && right.known) {
          const between = joint === '. ' ? ' ' : typeset(language === 'fr' && joint !== ', ' ? ` ${joint}` : joint, language);
          return { text: left.text + between + right.text, known: true };
        }
      }
    }
    return null;
  };
  return (text) => say(text).text;
}

function patternOf(english: string, translation: string, locale: string): Pattern {
  const names = [...english.matchAll(/\{(\w+)\}/g)].map(([, name]) => name ?? '');
  const literal = english.split(/\{\w+\}/);
  const shape = literal.map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')).join('(.+?)');
  const format = new IntlMessageFormat(translation, locale, undefined, { ignoreTag: true });
  const counted = new Set([...placesOf(format.getAst())].filter(([, kind]) => kind === 'count').map(([name]) => name));
  return { shape: new RegExp(`^${shape}$`), names, weight: literal.join('').length, format, counted };
}
