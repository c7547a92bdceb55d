//! The real program as a process: started, killed and started again over the same data, on a port of its own.
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const BINARY = process.env.COXSWAIN_BIN ?? join(here, '../../target/debug/coxswain');
const START_WITHIN_MS = 20_000;

/** A fresh folder for a server's data; call `remove` when done. */
export function dataFolder() {
  const path = mkdtempSync(join(tmpdir(), 'coxswain-browser-'));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}

/** Starts `coxswain` with the given arguments and waits until it says where it listens. */
export async function start(args) {
  const child = spawn(BINARY, args, { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  const ended = new Promise((resolve) => child.on('exit', resolve));
  const found = new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error(`the server did not start in time; it said:\n${said}`)), START_WITHIN_MS);
    const hear = (chunk) => {
      said += chunk;
      const address = /serves on (https?:\/\/[^\s/]+)/.exec(said)?.[1];
      const code = /join code:\s*(\S+)/i.exec(said)?.[1];
      if (address && code) {
        clearTimeout(timer);
        resolve({ address, code });
      }
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('exit', (status) => {
      clearTimeout(timer);
      reject(new Error(`the server ended with ${status}; it said:\n${said}`));
    });
  });
  const { address, code } = await found;
  return {
    address,
    code,
    said: () => said,
    /** Ends it without a warning, as a power cut does. */
    kill: async () => {
      child.kill('SIGKILL');
      await ended;
    },
  };
}

/** `coxswain serve` on a free port of this machine, or on the one it had before. */
export function serve(data, listen = '127.0.0.1:0') {
  return start(['serve', '--listen', listen, '--data', data]);
}
