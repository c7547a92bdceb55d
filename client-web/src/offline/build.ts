//! Writes the service worker after a build: which files it keeps, under a name that changes with any of them. It runs in the
//! build only.
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

/** The address of a file of the build; the page is asked for as `/`. */
const addressOf = (path: string): string => (path === 'index.html' ? '/' : `/${path.replaceAll('\\', '/')}`);

/** A page whose files a tablet need not keep: it shows what only the server has. */
const ONLINE_ONLY = 'review.html';

/** A page and every file that it names, and those that these name: the build puts a hash into each name, so that none is named by chance. */
function reached(from: string, texts: ReadonlyMap<string, string>): Set<string> {
  const found = new Set([from]);
  for (const path of found) {
    const text = texts.get(path) ?? '';
    for (const other of texts.keys()) if (other.startsWith('assets/') && text.includes(other.slice('assets/'.length))) found.add(other);
  }
  return found;
}

export function serviceWorker(): Plugin {
  let folder = 'dist';
  return {
    name: 'service-worker',
    apply: 'build',
    configResolved(config) {
      folder = config.build.outDir;
    },
    closeBundle() {
      const entries = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((one) => one.isFile());
      const all = entries.map((one) => join(one.parentPath, one.name).slice(folder.length + 1).replaceAll('\\', '/')).filter((path) => path !== 'sw.js').sort();
      const texts = new Map(all.map((path) => [path, readFileSync(join(folder, path), 'latin1')]));
      const screens = reached('index.html', texts);
      const left_out = [...reached(ONLINE_ONLY, texts)].filter((path) => !screens.has(path));
      const paths = all.filter((path) => !left_out.includes(path));
      const source = readFileSync(new URL('./worker.js', import.meta.url), 'utf8');
      const hash = createHash('sha256').update(source);
      for (const path of paths) hash.update(path).update('\0').update(readFileSync(join(folder, path)));
      const files = paths.map((path) => JSON.stringify(addressOf(path))).join(', ');
      const filled = source.replace("'__FILES__'", files).replace('__BUILD__', hash.digest('hex').slice(0, 16));
      writeFileSync(join(folder, 'sw.js'), filled);
    },
  };
}
