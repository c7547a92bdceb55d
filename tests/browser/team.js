//! Seven pages, each a device of its own (own cookies, own storage), and what a tester looks for on them.
import { existsSync, mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { after, before } from 'node:test';
import { chromium } from 'playwright-core';
import { dataFolder, start } from './server.js';

const here = dirname(fileURLToPath(import.meta.url));
export const OUTPUT = join(here, '../output');
export const ROLES = ['leader', 'compressor', 'relief', 'airway', 'drugs', 'defibrillator', 'recorder'];
export const TABLET = { width: 1024, height: 768 };
export const PHONE = { width: 390, height: 844 };
/** How long a page may take to show what must come. */
export const PATIENCE_MS = 30_000;

const CHROMIUM = process.env.COXSWAIN_CHROMIUM ?? '/usr/bin/chromium';
// The two last ones keep pages that are not in front as lively as a tablet in a hand.
const FLAGS = [
  '--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--disable-sync',
  '--disable-renderer-backgrounding', '--disable-background-timer-throttling', '--disable-backgrounding-occluded-windows',
];

/** Starts the browser. */
export function browse() {
  if (!existsSync(CHROMIUM)) throw new Error(`no Chromium at ${CHROMIUM}: run make test, or set COXSWAIN_CHROMIUM`);
  return chromium.launch({ executablePath: CHROMIUM, headless: true, args: FLAGS });
}

/**
 * A browser and a server of their own for the stories of a file, with a clock that runs `speed` times faster. `prepare` may put
 * files into the data folder first.
 */
export function stage(speed, prepare) {
  const stands = {};
  before(async () => {
    stands.data = dataFolder();
    prepare?.(stands.data.path);
    stands.browser = await browse();
    stands.server = await start(['demo', '--no-team', '--speed', speed, '--listen', '127.0.0.1:0', '--data', stands.data.path]);
  });
  after(async () => {
    await stands.browser?.close();
    await stands.server?.kill();
    stands.data?.remove();
  });
  return stands;
}

/** A new device: opens the pairing page as the QR code does, and fills it in. */
export async function pair(browser, server, { name, location = 'Bay 1', role, typed = false }) {
  const context = await browser.newContext({ viewport: TABLET, reducedMotion: 'reduce', colorScheme: 'dark' });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(String(error)));
  await page.goto(typed ? server.address : `${server.address}/pair?code=${server.code}`);
  if (typed) await page.getByTestId('pair-code').fill(server.code);
  await page.getByTestId('pair-name').fill(name);
  await page.getByTestId('pair-location').fill(location);
  if (role) await tap(page, `pair-role-${role}`);
  await tap(page, 'pair-submit');
  // Where a code runs already, a newcomer wakes straight into it.
  await page.locator('[data-testid=home], [data-testid=screen]').first().waitFor();
  return page;
}

/** A whole team at one place. */
export async function pairTeam(browser, server, location = 'Bay 1') {
  const team = {};
  for (const role of ROLES) {
    // One of them as a person without a camera does it: address and join code typed.
    team[role] = await pair(browser, server, { name: `${location} ${role}`, location, role, typed: role === 'recorder' });
  }
  return team;
}

/** Waits until the page's main task is `action`, and says what fits `words`. */
export async function task(page, action, words) {
  const says = ([action, pattern, flags]) => {
    const shown = document.querySelector(`[data-testid=task][data-action=${action}]`);
    return shown !== null && new RegExp(pattern, flags).test(shown.innerText.replace(/\s+/g, ' '));
  };
  try {
    await page.waitForFunction(says, [action, words.source, words.flags]);
  } catch (failure) {
    const shown = page.getByTestId('task');
    const instead = `${await shown.getAttribute('data-action')}: ${(await shown.innerText()).replace(/\s+/g, ' ')}`;
    throw new Error(`the task ${action} with ${words} did not come; the page says ${instead}`, { cause: failure });
  }
}

/** Waits until the page's hands line gives `order`, and gives its words. */
export async function hands(page, order) {
  const line = page.locator(`[data-testid=hands][data-order=${order}]`);
  await line.waitFor();
  return (await line.innerText()).replace(/\s+/g, ' ');
}

/** Waits until every page's hands line gives `order`. */
export async function allHands(team, order) {
  await Promise.all(Object.values(team).map((page) => hands(page, order)));
}

/** Longer than a button that is held needs, and than it rests afterwards: a finger that stays must record nothing else. */
export const HELD_MS = 1600;

/** Nobody means two buttons in the same place within this: a page takes the second for the rest of a double tap. */
const FINGER_MS = 400;
const lastClicks = new WeakMap();

/** Clicks as a finger does: not faster than one can, and holding what wants to be held. */
export async function click(button) {
  const page = button.page();
  const held = (await button.getAttribute('data-hold')) === 'true';
  await page.waitForTimeout(Math.max(0, (lastClicks.get(page) ?? 0) + FINGER_MS - Date.now()));
  await button.click(held ? { delay: HELD_MS } : {});
  lastClicks.set(page, Date.now());
}

/** Presses the main button once it records `kind`. */
export async function press(page, kind) {
  await click(page.locator(`[data-testid=primary][data-kind=${kind}]:enabled`));
}

/** Chooses a language for a page's device, as if it had been chosen there before. */
export async function speak(page, language) {
  await page.evaluate((language) => localStorage.setItem('coxswain.device.language', JSON.stringify(language)), language);
  await page.reload();
  await page.waitForFunction((language) => document.documentElement.lang === language, language);
}

/** Presses a button by its test id. */
export async function tap(page, id) {
  await click(page.getByTestId(id));
}

/** Types a number on the page's number pad. */
export async function type(page, digits) {
  for (const key of digits) await tap(page, `key-${key === '.' ? 'point' : key}`);
}

/** Waits until the element says what fits `words`. */
export async function says(page, id, words) {
  const shows = ([id, pattern, flags]) =>
    [...document.querySelectorAll(`[data-testid="${id}"]`)].some((one) => new RegExp(pattern, flags).test(one.innerText.replace(/\s+/g, ' ')));
  try {
    await page.waitForFunction(shows, [id, words.source, words.flags]);
  } catch (failure) {
    throw new Error(`${id} did not say ${words}; it says: ${(await page.getByTestId(id).allInnerTexts()).join(' | ')}`, { cause: failure });
  }
}

/** Where the README's pictures go, if this run is to make them (`npm run pictures`). */
const PICTURES = process.env.COXSWAIN_PICTURES;

/** Keeps pictures of a page at both sizes: as test output, or under `shown` as one of the README's. */
export async function picture(page, name, shown) {
  const made = PICTURES && shown ? [[PICTURES, shown]] : [];
  // Making the README's pictures must not be slowed down by the others.
  if (!PICTURES) made.push([OUTPUT, name]);
  for (const [folder, name] of made) {
    mkdirSync(folder, { recursive: true });
    for (const [size, viewport] of [['390x844', PHONE], ['1024x768', TABLET]]) {
      await page.setViewportSize(viewport);
      await page.screenshot({ path: join(folder, `${name}-${size}.png`) });
    }
  }
}

/** A browser without a screen may draw no frame for a page that it thinks nobody sees. */
const FRAMES_WITHIN_MS = 5_000;

/** Three frames, so that what is fitted to its box has settled. A page that draws none is brought to the front, and asked again. */
export async function settled(page) {
  const drawn = () => page.evaluate((within_ms) => new Promise((done) => {
    setTimeout(() => done(false), within_ms);
    requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(() => done(true))));
  }), FRAMES_WITHIN_MS);
  if (await drawn()) return;
  await page.bringToFront();
  if (!(await drawn())) throw new Error(`the page drew no three frames in ${FRAMES_WITHIN_MS} ms`);
}

/** What a page wrote to its console as an uncaught error must be nothing. */
export function faults(team) {
  return Object.entries(team).flatMap(([role, page]) => page.faults.map((fault) => `${role}: ${fault}`));
}

/** Longer than any step takes, and shorter than any test may: one that hangs says so, rather than being cut off with the whole test. */
const STEP_WITHIN_MS = 100_000;

/** What a promise gives, or an error after a time. */
async function within(limit_ms, what, promise) {
  let timer;
  const late = new Promise((_, fail) => { timer = setTimeout(() => fail(new Error(`${what} took longer than ${limit_ms / 1000} s`)), limit_ms); });
  try {
    return await Promise.race([promise, late]);
  } finally {
    clearTimeout(timer);
  }
}

/** What a page shows, in words and as a picture, even if it does not answer any more. */
async function told(page, role) {
  try {
    const said = await within(10_000, 'reading the page', page.locator('[data-testid=hands], [data-testid=task], [data-testid=code-clock]').allInnerTexts());
    mkdirSync(OUTPUT, { recursive: true });
    await page.screenshot({ path: join(OUTPUT, `failed-${role}.png`), timeout: 10_000 });
    return said.join(' | ').replace(/\s+/g, ' ');
  } catch (failure) {
    return String(failure);
  }
}

/** Steps of one story: after one that failed the others make no sense, and what every page showed is kept. */
export function story(t, team) {
  let broken = false;
  return (name, step) =>
    t.test(name, async (t) => {
      if (broken) return t.skip('an earlier step failed');
      try {
        await within(STEP_WITHIN_MS, `the step “${name}”`, step(t));
      } catch (failure) {
        broken = true;
        for (const [role, page] of Object.entries(team)) t.diagnostic(`${role}: ${await told(page, role)}`);
        throw failure;
      }
    });
}
