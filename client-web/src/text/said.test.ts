//! Sentences of the server in each language: every one that a view can show, as the engine's own list has them
//! (`server/engine/sentences.txt`), and every title and cause of the shipped protocol files.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import list from './abbreviations.json';
import { abbreviationsIn } from './abbreviations_in';
import { LANGUAGES } from './languages';
import { speaker, type Sentences } from './said';
import { es } from './sentences/es';
import { fr } from './sentences/fr';
import { pt } from './sentences/pt';

const TABLES: { readonly [language: string]: Sentences } = { es, fr, pt };
const OTHERS = LANGUAGES.filter((one) => one !== 'en');
const read = (path: string): string => readFileSync(new URL(path, import.meta.url), 'utf8');
const LINES = read('../../../server/engine/sentences.txt').trim().split('\n');
const PROTOCOLS = new URL('../../../server/protocols/', import.meta.url);
/** Titles and sentences of the shipped files, by the fields that reach a screen. */
const WORDS = readdirSync(PROTOCOLS)
  .filter((name) => name.endsWith('.toml'))
  .flatMap((name) => [...readFileSync(new URL(name, PROTOCOLS), 'utf8').matchAll(/\b(?:title|(?:words|text|target|energy_rule|access_note|review_limits) = \{ value) = "([^"]*)"/g)])
  .map(([, words]) => words ?? '');
/** The engine's sources, a sentence over several lines put together again. */
const ENGINE = new URL('../../../server/engine/src/', import.meta.url);
const RUST = readdirSync(ENGINE, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.rs'))
  .map((name) => readFileSync(new URL(name, ENGINE), 'utf8').replace(/\\\n\s*/g, ''))
  .join('\n');
const ids: { readonly [id: string]: string } = { amiodarone: 'Amiodarona', lidocaine: 'Lidocaína', trauma: 'Trauma' };
const speak = (language: (typeof OTHERS)[number]) => speaker(TABLES[language] ?? {}, language, language, (id) => ids[id] ?? null);

/** English words that no other of our languages has. */
const ENGLISH = /(?<!\p{L})(?:the|and|with|for|from|below|above|least|most|given|by|to|of|is|are|at|years|months|weeks|dose|drugs?|shocks?|breath|told|measured|estimated)(?!\p{L})/iu;
/** What is the same in another language: names, numbers, units. */
const BARE = /^(?:[\d.,:+x≈\s\u00a0a-]|%|mmHg|kPa|°C|mmol\/L|J|m[gL](?:\/(?:kg|mL))?|kg|pH|à|APLS)*$/;

describe.each(OTHERS)('%s', (language) => {
  const say = speak(language);
  const own = language === 'fr' ? /\b(?:dose|doses|estimation)\b/gi : language === 'pt' ? /\b(?:dose|doses|for)\b/gi : /\bx\b/g;

  test('every sentence of a view is said', () => {
    const left = LINES.filter((line) => !BARE.test(line)).filter((line) => say(line) === line && !['Amiodarone', 'Trauma', 'Naloxone', 'Calcium IV', 'Anaphylaxie'].includes(line));
    expect(left).toEqual([]);
  });

  test('and nothing of it stays English', () => {
    const mixed = LINES.map(say).filter((said) => ENGLISH.test(said.replace(own, '').replace(/\b(?:aha|erc)-(?:adult|child)\b/g, '').replace(/\bPar\b/g, '')));
    expect(mixed).toEqual([]);
  });

  test('every title and sentence in the shipped files is said', () => {
    expect(WORDS.length).toBeGreaterThan(200);
    expect([...new Set(WORDS)].filter((words) => TABLES[language]?.[words] === undefined)).toEqual([]);
  });

  test('numbers are the protocol’s, in the language’s writing', () => {
    const digits = (text: string): string[] => (text.replace(/₂/g, '2').match(/\d+(?:[.,]\d+)?/g) ?? []).map((one) => one.replace(',', '.')).filter((one) => one !== '10e').map((one) => String(Number(one))).sort();
    for (const line of LINES) expect(digits(say(line)), `${line} → ${say(line)}`).toEqual(digits(line));
  });

  test('no translation stands unused', () => {
    const table = TABLES[language] ?? {};
    const sources = [...LINES, ...WORDS, RUST, read('../../../server/src/ledger/writer.rs')].join('\n');
    const parts = (english: string): string[] => english.split(/\{\w+\}/).map((part) => part.trim()).filter((part) => part.length > 1);
    expect(Object.keys(table).filter((english) => !parts(english).every((part) => sources.includes(part)))).toEqual([]);
  });

  test('each abbreviation has a state, and the table keeps to the typography', () => {
    const listed = new Set(list.abbreviations.filter((one) => one.language === language || one.language === 'all').map((one) => one.short));
    const found = new Set(Object.values(TABLES[language] ?? {}).flatMap(abbreviationsIn));
    expect([...found].filter((one) => !listed.has(one) && !list.not_clinical.includes(one) && !list.words_in_capitals.includes(one))).toEqual([]);
    for (const said of Object.values(TABLES[language] ?? {})) expect(said).not.toMatch(/["']| {2}|^ | $|\d[.,]\d*0\b/);
  });
});

test('the tables have the same sentences and places', () => {
  expect(Object.keys(fr)).toEqual(Object.keys(es));
  expect(Object.keys(pt)).toEqual(Object.keys(es));
  const places = (text: string): string[] => [...new Set([...text.matchAll(/\{(\w+)/g)].map(([, name]) => name ?? ''))].sort();
  for (const table of [es, fr, pt]) {
    for (const [english, said] of Object.entries(table)) expect(places(said).filter((one) => !english.includes(`{${one}}`)), said).toEqual([]);
    for (const [english, said] of Object.entries(table)) for (const [place] of english.matchAll(/\{\w+\}/g)) expect(said, english).toContain(place.slice(0, -1));
  }
});

test('a sentence that a department wrote is shown as it wrote it', () => {
  for (const language of OTHERS) {
    const say = speak(language);
    for (const own of ['Call the cath lab on 4711, as soon as feasible', 'above the clavicle', 'to the CT at once', 'Rewarm with the blanket: below the arms']) expect(say(own)).toBe(own);
    // A title of its own in a sentence that the engine composes: what is ours is said, what is its own stays.
    expect(say('Deep snow: amiodarone is not offered.')).toMatch(/^Deep snow(?:\u00a0)?: .*Amiodarona/);
  }
});

test('what is said reads as it should', () => {
  expect(speak('es')('0.1 mg/kg for 14.2 kg told')).toBe('0,1 mg/kg para 14,2 kg referidos');
  expect(speak('fr')('SpO2 94 to 98 %')).toBe('SpO₂ 94 à 98\u00a0%');
  expect(speak('pt')('systolic at least 90 mmHg, mean at least 65 mmHg')).toBe('sistólica pelo menos 90\u00a0mmHg, média pelo menos 65\u00a0mmHg');
  expect(speak('fr')('SpO2 99 %: above 94 to 98')).toBe('SpO₂ 99\u00a0%\u00a0: au-dessus de 94 à 98');
});
