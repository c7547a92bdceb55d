// The compressed script of a role's screen is below 150 kB: every script that the page loads before it shows a task, with the largest
// language beside it. It is a demand on the build, not a timing. Run with `npm run size` after a build.
import { readdirSync, readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

const LIMIT_KB = 150;
const dist = new URL('./dist/', import.meta.url);
const page = readFileSync(new URL('index.html', dist), 'utf8');
const loaded = new Set([...page.matchAll(/(?:src|href)="\/(assets\/[^"]+\.js)"/g)].map(([, path]) => path));
const sizeOf = (path) => gzipSync(readFileSync(new URL(path, dist)), { level: 9 }).length / 1000;
// What those import at once (a chunk of their own) counts too; what is fetched later by choice is a language.
const seen = new Set();
const follow = (path) => {
  if (seen.has(path)) return;
  seen.add(path);
  const text = readFileSync(new URL(path, dist), 'utf8');
  for (const [, name] of text.matchAll(/(?:from|^import|[;}]import)\s*"\.\/([^"]+\.js)"/g)) follow(`assets/${name}`);
};
if (loaded.size === 0) throw new Error('dist/index.html loads no script: run npm run build');
loaded.forEach(follow);
const others = readdirSync(new URL('assets/', dist)).filter((name) => name.endsWith('.js')).map((name) => `assets/${name}`).filter((path) => !seen.has(path));
const at_once = [...seen].reduce((sum, path) => sum + sizeOf(path), 0);
const largest = Math.max(0, ...others.map(sizeOf));
const total = at_once + largest;
console.log(`script of a role's screen, gzip: ${at_once.toFixed(1)} kB and a language of up to ${largest.toFixed(1)} kB = ${total.toFixed(1)} kB (limit ${LIMIT_KB} kB)`);
if (total >= LIMIT_KB) {
  console.error(`That is more than ${LIMIT_KB} kB: see what came in with npm run build.`);
  process.exit(1);
}
