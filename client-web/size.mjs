// The compressed script of a role's screen is below 150 kB: every script that the page loads before it shows a task, with the largest
// language beside it. The review page, which a desktop loads the day after, has a budget of its own. It is a demand on the
// build, not a timing. Run with `npm run size` after a build.
import { readdirSync, readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

const PAGES = [
  { page: 'index.html', name: 'a role’s screen', limit_kb: 150 },
  { page: 'review.html', name: 'the review page', limit_kb: 200 },
];
const dist = new URL('./dist/', import.meta.url);
const names = readdirSync(new URL('assets/', dist)).filter((name) => name.endsWith('.js'));
const texts = new Map(names.map((name) => [name, readFileSync(new URL(`assets/${name}`, dist), 'utf8')]));
const sizeOf = (name) => gzipSync(texts.get(name), { level: 9 }).length / 1000;

/** A script and what it imports at once, or all that it ever fetches. */
function follow(from, next) {
  const seen = new Set(from);
  for (const name of seen) next(texts.get(name)).forEach((other) => texts.has(other) && seen.add(other));
  return seen;
}
const imported = (text) => [...text.matchAll(/(?:from|^import|[;}]import)\s*"\.\/([^"]+\.js)"/g)].map(([, name]) => name);
const named = (text) => names.filter((name) => text.includes(name));

let over = false;
for (const { page, name, limit_kb } of PAGES) {
  const html = readFileSync(new URL(page, dist), 'utf8');
  const loaded = [...html.matchAll(/(?:src|href)="\/assets\/([^"]+\.js)"/g)].map(([, path]) => path);
  if (loaded.length === 0) throw new Error(`dist/${page} loads no script: run npm run build`);
  const seen = follow(loaded, imported);
  const at_once = [...seen].reduce((sum, one) => sum + sizeOf(one), 0);
  // What is fetched later, by choice, is a language; the review page has two files of each.
  const languages = new Map();
  for (const one of follow(loaded, named)) {
    const language = one.split('-')[0];
    if (!seen.has(one)) languages.set(language, (languages.get(language) ?? 0) + sizeOf(one));
  }
  const largest = Math.max(0, ...languages.values());
  const total = at_once + largest;
  console.log(`script of ${name}, gzip: ${at_once.toFixed(1)} kB and a language of up to ${largest.toFixed(1)} kB = ${total.toFixed(1)} kB (limit ${limit_kb} kB)`);
  if (total >= limit_kb) {
    console.error(`That is more than ${limit_kb} kB: see what came in with npm run build.`);
    over = true;
  }
}
if (over) process.exit(1);
