//! The four languages against each other and against rules from outside: the same messages, places and forms; orders short
//! enough for their buttons; nothing left in English by oversight.
import { readdirSync, readFileSync } from 'node:fs';
import { IntlMessageFormat } from 'intl-messageformat';
import { describe, expect, test } from 'vitest';
import { en as everywhere } from './en';
import { es } from './es';
import { fr } from './fr';
import { LANGUAGES, type Language } from './languages';
import { formsOf, placesOf } from './places';
import { pt } from './pt';
import { reviewEn } from './review/en';
import { reviewEs } from './review/es';
import { reviewFr } from './review/fr';
import { reviewPt } from './review/pt';
import { typeset } from './typeset';

/** The labels of every page, with the section of the review page after them. */
const en = { ...everywhere, ...reviewEn };
type Key = keyof typeof en;
type Catalogue = { readonly [key in Key]: string };
const ALL: { readonly [language in Language]: Catalogue } = {
  en,
  es: { ...es, ...reviewEs },
  fr: { ...fr, ...reviewFr },
  pt: { ...pt, ...reviewPt },
};
const OTHERS = LANGUAGES.filter((one) => one !== 'en');
const KEYS = Object.keys(en) as Key[];
const read = (language: Language, key: Key) => new IntlMessageFormat(ALL[language][key], language, undefined, { ignoreTag: true });

describe.each(LANGUAGES)('%s', (language) => {
  const words = ALL[language];

  test('has every message, no other, in the same order', () => expect(Object.keys(words)).toEqual(KEYS));

  test('has the same places, filled or counted alike', () => {
    const places = (of: Language, key: Key) => [...placesOf(read(of, key).getAst())].sort();
    // A form by number may be needed in one language and not in another; the name of the place is the same.
    const names = (of: Language, key: Key) => places(of, key).map(([name]) => name);
    for (const key of KEYS) expect(names(language, key), key).toEqual(names('en', key));
  });

  test('has the forms that its grammar needs, and none that it does not know', () => {
    // Plural categories by CLDR, as the platform carries it (ECMA-402, Intl.PluralRules).
    const known = new Intl.PluralRules(language).resolvedOptions().pluralCategories;
    for (const key of KEYS) {
      for (const forms of formsOf(read(language, key).getAst())) {
        expect(forms, key).toContain('one');
        expect(forms, key).toContain('other');
        for (const form of forms) expect(known, key).toContain(form);
      }
    }
  });

  test('is typeset: no straight quotes, no doubled or outer spaces, three dots as one sign', () => {
    for (const key of KEYS) expect(words[key], key).not.toMatch(/["']| {2}|^ | $|\.\.\./);
  });

  test('writes no number with a zero at its end or none before its mark (ISMP, error-prone notations)', () => {
    for (const key of KEYS) expect(words[key], key).not.toMatch(/\d[.,]\d*0\b(?! ?%)|(^|\s)[.,]\d/);
  });
});

test('Spanish opens what it asks and exclaims', () => {
  for (const key of KEYS) {
    for (const mark of [['¿', '?'], ['¡', '!']] as const) {
      const count = (sign: string) => ALL.es[key].split(sign).length;
      expect(count(mark[0]), `${key}: ${ALL.es[key]}`).toBe(count(mark[1]));
    }
  }
});

test('French keeps a sign that stands apart at its word', () => {
  // Lexique des règles typographiques (Imprimerie nationale), from memory: a space before : ; ! ? and inside « ».
  for (const key of KEYS) {
    expect(ALL.fr[key], key).not.toMatch(/[^\s\d][:;!?»](?!\w)|«\S/);
    expect(typeset(ALL.fr[key], 'fr'), key).not.toMatch(/ [:;!?»]|« /);
  }
});

/** Words that are the same in another language, so that no oversight hides among them. */
const SAME = {
  es: ['IV', 'IO', 'IM', 'ECMO', 'Femoral', 'Nasal', 'No', 'Roles', 'real'],
  fr: [
    'IV', 'IO', 'IM', 'PAUSE', 'Pause', 'Notes', 'Note', 'Patient', 'Causes', 'Leader', 'Choc', 'Charge', 'Brachial', 'information', 'Amiodarone',
    'Atropine', 'Naloxone', 'Glucose', 'Insuline', 'Nasale', 'causes', 'urgent', 'Glucose 10 %', 'Amiodarone, mg', 'Lactate, mmol/L', 'Potassium, mmol/L',
    'due {time}',
  ],
  pt: ['IV', 'IO', 'IM', 'Femoral', 'Nasal', 'Trauma', 'Alteplase', 'Tenecteplase', 'Vasopressin', 'real'],
} as const;
/** Signs and bare places. */
const WORDLESS = /^(?:\{\w+\}(?:: \{\w+\}|\?)?|\{energy\} J|–|\{\w+\} (?:s|min|%)|\{at\} – \{time\}|ETCO₂(?:, mmHg)?|[SP]\w?[aAp]?[CO]+₂, (?:%|mmHg)|pH|)$/;

test.each(OTHERS)('nothing is left in English in %s', (language) => {
  const same = KEYS.filter((key) => ALL[language][key] === en[key] && !WORDLESS.test(en[key]));
  const known: readonly string[] = SAME[language];
  expect(same.filter((key) => !known.includes(en[key])).map((key) => `${key}: ${en[key]}`)).toEqual([]);
});

/** Where room is short: buttons, tabs, tiles and the hands line. Characters by what fits at 390 px, looked at on the screens. */
const BUDGET: readonly (readonly [pattern: RegExp, most: number])[] = [
  [/^hands\.(?:compress|compress_overdue|clear|pause|none_\w+|unknown)$/, 17],
  [/^role\.(?:leader|compressor|relief|airway|drugs|defibrillator|recorder)$/, 14],
  [/^rhythm\.\w+$/, 16],
  [/^(?:pulse|route|site|by|yes|no|age|abort|reason|temp_site|sex)(?:\.|$)/, 24],
  [/^tap\.\w+$/, 33],
  [/^early\.by$/, 34],
];

test.each(LANGUAGES)('orders and buttons keep their length in %s', (language) => {
  for (const key of KEYS) {
    const most = BUDGET.find(([pattern]) => pattern.test(key))?.[1];
    if (most !== undefined) expect(ALL[language][key].length, `${key}: ${ALL[language][key]}`).toBeLessThanOrEqual(most);
  }
});

test.each(LANGUAGES)('a task and a button say what to do in five words at most in %s', (language) => {
  for (const key of KEYS.filter((one) => /^(?:do|tap|hands\.[a-z_]+|rhythm|pulse|reason|route|airway)\b/.test(one) && !/\.more$|observed/.test(one))) {
    const words = ALL[language][key].replace(/\{\w+, plural, one \{([^}]*)\} other \{[^}]*\}\}/g, '$1').replace(/\{\w+\}/g, 'x').split(/[\s\u00a0]+/).filter((one) => /\p{L}/u.test(one));
    expect(words.length, `${key}: ${ALL[language][key]}`).toBeLessThanOrEqual(5);
  }
});

test('a task that a protocol file names has five words at most, too', () => {
  const folder = new URL('../../../server/protocols/', import.meta.url);
  const files = readdirSync(folder).filter((name) => name.endsWith('.toml'));
  expect(files.length).toBeGreaterThan(3);
  for (const name of files) {
    // The first title is the protocol's own.
    const titles = [...readFileSync(new URL(name, folder), 'utf8').matchAll(/^title = "(.*)"$/gm)].map(([, title]) => title ?? '').slice(1);
    expect(titles.length).toBeGreaterThan(10);
    for (const title of titles) expect(title.split(' ').length, `${name}: ${title}`).toBeLessThanOrEqual(5);
  }
});
