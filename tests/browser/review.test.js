//! The review of a code in a browser: sign in, see the pauses within a look, jump from a missed target, correct with a reason and
//! see the figures follow, two reviewers at once, debrief, sign, print; and a bedside device that gets none of it. One
//! server, one browser, one code of the simulated team.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { after, before, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { axe, badTargets, lowContrast } from './audit.js';
import { dataFolder, serve } from './server.js';
import { browse, OUTPUT, pair, PATIENCE_MS, settled } from './team.js';

const here = dirname(fileURLToPath(import.meta.url));
const BINARY = process.env.COXSWAIN_BIN ?? join(here, '../../target/debug/coxswain');
const DESK = { width: 1280, height: 800 };
const PHONE = { width: 390, height: 844 };
const BEDSIDE = { width: 1024, height: 768 };
const PASSWORD = 'a passphrase of the test';
/** WCAG 2.2, 2.5.5: 44 px; bare fingers at a desk and by the bed (docs/design-language.md). */
const FINGER = 44;
const stands = {};

before(async () => {
  mkdirSync(OUTPUT, { recursive: true });
  stands.data = dataFolder();
  // Random codes of some months for the trends; the latest is one that the simulated team of `demo` ran, kept in a file: a team
  // that runs anew has its times from how busy this machine is.
  const fill = 'import sys; from pathlib import Path; sys.path.insert(0, sys.argv[1]); import folder; folder.fill(Path(sys.argv[2]), range(1, 121)); folder.put(Path(sys.argv[2]), Path(sys.argv[3]))';
  execFileSync('python3', ['-c', fill, join(here, '../review'), stands.data.path, join(here, 'team-code.jsonl')], { env: { ...process.env, COXSWAIN_BIN: BINARY } });
  for (const name of ['Ana Rojas', 'Ben Okafor']) execFileSync(BINARY, ['account', 'add', '--name', name, '--role', name === 'Ana Rojas' ? 'administrator' : 'reviewer', '--data', stands.data.path], { input: `${PASSWORD}\n`, stdio: ['pipe', 'ignore', 'inherit'] });
  [stands.browser, stands.server] = await Promise.all([browse(), serve(stands.data.path)]);
});
after(async () => {
  await stands.browser?.close();
  await stands.server?.kill();
  stands.data?.remove();
});

async function open(path = '/review', viewport = DESK) {
  const context = await stands.browser.newContext({ viewport, reducedMotion: 'reduce', colorScheme: 'dark', timezoneId: 'UTC' });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(String(error)));
  await page.goto(stands.server.address + path);
  return page;
}
async function signIn(page, name, password = PASSWORD) {
  await page.getByTestId('name').fill(name);
  await page.getByTestId('password').fill(password);
  await page.getByTestId('sign-in-go').click();
}
async function openCode(page) {
  await page.getByTestId('code-row').first().locator('a').click();
  await page.getByTestId('targets').waitFor();
}
const shot = (page, name, options = {}) => page.screenshot({ path: join(OUTPUT, `review-${name}.png`), ...options });
/** Nothing for axe, all text at 7:1, everything large enough to touch. */
async function fair(page, name) {
  assert.deepEqual(await axe(page), [], `${name}: axe-core`);
  assert.deepEqual(await lowContrast(page), [], `${name}: contrast`);
  assert.deepEqual((await badTargets(page, { target: FINGER, apart: 0 })).filter((one) => !/“” |checkbox/.test(one) && one.startsWith('small')), [], `${name}: targets`);
}
const summary = async (page) => (await page.getByTestId('pauses-line').textContent()).trim();
const head = (page) => page.getByTestId('code-page').getAttribute('data-head');

test('the review of a code', { timeout: 180_000 }, async (t) => {
  const ana = await open();
  let first;

  await t.test('a wrong password is said in words, the right one shows the list', async () => {
    await fair(ana, 'sign in');
    await signIn(ana, 'Ana Rojas', 'not the passphrase at all');
    await ana.getByTestId('sign-in-trouble').filter({ hasText: 'wrong' }).waitFor();
    await signIn(ana, 'Ana Rojas');
    await ana.getByTestId('code-row').first().waitFor();
    const total = async () => Number(/\d+/.exec(await ana.getByTestId('total').textContent())[0]);
    // The server works the lines out once it has started; the list asks again until they are all there.
    await ana.waitForFunction(() => /^\d+ codes\s*$/.test(document.querySelector('[data-testid=total]').textContent));
    const all = await total();
    assert.ok(all > 100, String(all));
    await ana.setViewportSize(PHONE);
    assert.ok(await ana.evaluate(() => document.documentElement.scrollWidth <= innerWidth && document.querySelector('[data-testid=codes]').scrollWidth <= innerWidth), 'a phone shows a code whole');
    await fair(ana, 'list on a phone');
    await shot(ana, 'list-phone');
    await ana.setViewportSize(DESK);
    await ana.getByTestId('filter-location').selectOption('without a place');
    await ana.waitForFunction((all) => Number(/\d+/.exec(document.querySelector('[data-testid=total]').textContent)[0]) < all, all);
    assert.match(ana.url(), /location=(&|$)/);
    assert.ok((await ana.getByTestId('code-row').allTextContents()).every((row) => !/Ward|Emergency|Bay/.test(row)));
    await ana.getByTestId('filter-clear').click();
    await ana.waitForFunction((all) => Number(/\d+/.exec(document.querySelector('[data-testid=total]').textContent)[0]) === all, all);
    await fair(ana, 'list');
    await ana.getByTestId('page-on').click();
    await ana.getByTestId('page-back').and(ana.locator(':enabled')).waitFor();
    await ana.getByTestId('filter-location').selectOption('Ward 1');
    await ana.waitForFunction((all) => Number(/\d+/.exec(document.querySelector('[data-testid=total]').textContent)[0]) < all, all);
    assert.match(ana.url(), /location=Ward\+1/);
    assert.ok((await ana.getByTestId('code-row').allTextContents()).every((row) => row.includes('Ward 1')));
    await ana.getByTestId('filter-to').fill('2001-01-01');
    await ana.getByTestId('empty').filter({ hasText: 'filters' }).waitFor();
    await ana.getByTestId('filter-clear').click();
    await ana.getByTestId('code-row').first().waitFor();
    assert.equal(await total(), all);
    await shot(ana, 'list');
  });

  await t.test('one code: the pauses at a look, and a way from each missed target into the picture', async () => {
    await openCode(ana);
    first = await summary(ana);
    assert.match(first, /Compressions ran for \d+\s% of the arrest\. \d+ pauses, \d+ over 10 s/);
    assert.ok((await ana.getByTestId('picture').locator('[data-mark=pause]').count()) >= 3, 'pauses are drawn');
    assert.match(await ana.getByTestId('breaths').textContent(), /Nobody taps breaths/);
    const before = await ana.getByTestId('picture').evaluate((one) => [Number(one.dataset.from), Number(one.dataset.to)]);
    await ana.locator('[data-testid^=missed-]').first().click();
    const [from, to] = await ana.getByTestId('picture').evaluate((one) => [Number(one.dataset.from), Number(one.dataset.to)]);
    assert.ok(to - from < (before[1] - before[0]) / 2, 'the picture went closer');
    // A tablet that is turned shows the same stretch.
    await ana.setViewportSize(BEDSIDE);
    await settled(ana);
    const turned = Number(await ana.getByTestId('picture').getAttribute('data-from'));
    assert.ok(Math.abs(turned - from) < (to - from) / 50, `the picture began at ${from} ms and begins at ${turned} ms`);
    await ana.setViewportSize(DESK);
    const chosen = await ana.getByTestId('chosen').textContent();
    assert.match(chosen, /\d:\d\d/);
    const shock = ana.getByTestId('picture').locator('[role=option][aria-label*="Shock given"]').first();
    await ana.getByTestId('zoom-all').click();
    await shock.locator('.hit').hover();
    await ana.getByTestId('chosen').filter({ hasText: /Shock given 200\s?J.*pre-shock pause/ }).waitFor();
    await ana.mouse.move(5, 5);
    await ana.getByTestId('chosen').filter({ hasText: chosen.trim().replace(/^[←→\s]+/, '').slice(0, 20) }).waitFor();
    await shot(ana, 'missed');
  });

  await t.test('by keys: mark by mark, each with its words', async () => {
    await ana.getByTestId('picture').focus();
    await ana.keyboard.press('0');
    await ana.keyboard.press('Home');
    const told = new Set();
    for (let turn = 0; turn < 12; turn += 1) {
      const mark = await ana.evaluate(() => {
        const box = document.querySelector('[data-testid=picture]');
        return document.getElementById(box.getAttribute('aria-activedescendant') ?? '')?.getAttribute('aria-label');
      });
      assert.match(mark ?? '', /\d:\d\d|Prompt/);
      told.add(mark);
      await ana.keyboard.press('ArrowRight');
    }
    assert.ok(told.size >= 10, [...told].join('; '));
  });

  await t.test('axe, contrast and targets on every part, dark and light, desk and bedside', async () => {
    await ana.getByTestId('tab-prompts').click();
    await ana.getByTestId('deeds').getByRole('columnheader', { name: 'Acknowledged' }).waitFor();
    assert.match(await ana.getByTestId('deeds').textContent(), /\d:\d\d, Bay 1 defibrillator/);
    for (const part of ['prompts', 'record', 'debrief']) {
      await ana.getByTestId(`tab-${part}`).click();
      for (const light of ['dark', 'light']) {
        await ana.getByTestId('light').selectOption(light);
        await fair(ana, `${part}, ${light}`);
        if (part === 'record') for (const [name, size] of Object.entries({ desk: DESK, bedside: BEDSIDE })) {
          await ana.setViewportSize(size);
          await ana.evaluate(() => scrollTo(0, 0));
          await shot(ana, `code-${name}-${light}`);
          assert.ok(await ana.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name}: nothing beyond the edge`);
        }
      }
    }
    assert.match(await ana.getByTestId('debrief').textContent(), /Signing closes the record/);
    await ana.setViewportSize(DESK);
  });

  await t.test('a correction with a reason: the figures follow, the original stays visible', async () => {
    await ana.getByTestId('tab-record').click();
    const row = ana.locator('[data-testid=record-row][data-kind=compressions_started]').nth(1);
    const was = await row.getByRole('button').first().textContent();
    // Half a minute: seen in the share, whatever else the simulated team took its time for.
    const [minute, second] = was.split(':').map(Number);
    const later = `${minute + Math.floor((second + 30) / 60)}:${String((second + 30) % 60).padStart(2, '0')}`;
    await row.getByTestId('amend').click();
    await ana.getByTestId('time').fill(later);
    assert.ok(await ana.getByTestId('change-save').isDisabled(), 'not without a reason');
    await ana.getByTestId('reason').fill('the camera shows it');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    const now = await summary(ana);
    assert.notEqual(now, first);
    assert.match(now, /[1-9]\d* over 10 s/);
    const corrected = ana.locator('[data-testid=record-row]').filter({ hasText: 'the camera shows it' });
    assert.match(await corrected.locator('s').textContent(), new RegExp(`^${was} `));
    assert.match(await corrected.textContent(), /Corrected by Ana Rojas/);
    assert.ok((await ana.getByTestId('picture').locator('[data-mark=pause][data-grave=yes]').count()) >= 1, 'the long pause stands out');
    await ana.getByTestId('only-corrected').check();
    await shot(ana, 'corrected', { fullPage: true });
    await ana.getByTestId('only-corrected').uncheck();
  });

  await t.test('two reviewers at once: the other’s change is shown, what was typed stays, nothing is overwritten', async () => {
    const ben = await open();
    await signIn(ben, 'Ben Okafor');
    await openCode(ben);
    await ben.getByTestId('add-fact').click();
    await ben.getByTestId('fact-kind').selectOption('note');
    await ben.getByTestId('time').fill('1:00');
    await ben.getByTestId('content-change').click();
    await ben.getByTestId('option-text').fill('family present');
    await ben.getByTestId('option-save').click();
    await ben.getByTestId('reason').fill('told by the nurse');
    // Meanwhile the other one strikes something out.
    const note = ana.locator('[data-testid=record-row][data-kind=cause_considered]').first();
    await note.getByTestId('void').click();
    await ana.getByTestId('reason').fill('entered for another patient');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('meanwhile').filter({ hasText: 'Ana Rojas struck out' }).waitFor();
    assert.equal(await ben.getByTestId('reason').inputValue(), 'told by the nurse');
    assert.match(await ben.getByTestId('content').textContent(), /family present/);
    await shot(ben, 'meanwhile');
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('change-form').waitFor({ state: 'detached' });
    await ben.locator('[data-testid=record-row]').filter({ hasText: 'family present' }).waitFor();
    assert.equal(await ben.locator('[data-testid=record-row][data-struck=true]').filter({ hasText: 'another patient' }).count(), 1);
    await fair(ben, 'after both');
    assert.deepEqual(ben.faults, []);
    await ben.context().close();
  });

  await t.test('at the same fact: a time that nobody typed follows the colleague’s, a form is not dropped for another, and no answer is no promise', async () => {
    const ben = await open();
    await signIn(ben, 'Ben Okafor');
    await openCode(ben);
    const of = (page) => page.locator('[data-testid=record-row][data-kind=shock_delivered][data-struck=false]').first();
    await of(ben).getByTestId('amend').click();
    await ben.getByTestId('content-change').click();
    await ben.getByTestId('option-150').click();
    await ben.getByTestId('reason').fill('the print-out says 150 J');
    await ana.reload();
    await ana.getByTestId('targets').waitFor();
    await of(ana).getByTestId('amend').click();
    await ana.getByTestId('time').fill('0:48.25');
    await ana.getByTestId('reason').fill('by the print-out');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('meanwhile').waitFor();
    assert.equal(await ben.getByTestId('time').inputValue(), '0:48.25');
    // Another row's form does not open over what is typed.
    await ben.getByTestId('amend').nth(3).click();
    await ben.getByTestId('change-trouble').filter({ hasText: 'Save or cancel first' }).waitFor();
    assert.equal(await ben.getByTestId('reason').inputValue(), 'the print-out says 150 J');
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('change-form').waitFor({ state: 'detached' });
    assert.match(await of(ben).textContent(), /0:48.*Shock given 150/);
    // The answer to a change is lost on the way: it is on the record all the same, and the page does not say otherwise.
    await ben.route('**/changes', async (route) => { await route.fetch(); await route.abort(); });
    await ben.getByTestId('add-fact').click();
    await ben.getByTestId('fact-kind').selectOption('rosc');
    await ben.getByTestId('time').fill('5:00');
    await ben.getByTestId('content-change').click();
    await ben.getByTestId('reason').fill('a slip, struck out below');
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('change-trouble').filter({ hasText: /not known/ }).waitFor();
    await ben.unroute('**/changes');
    await ben.getByTestId('change-cancel').click();
    await ben.reload();
    const slip = ben.locator('[data-testid=record-row]').filter({ hasText: 'a slip, struck out below' });
    await slip.getByTestId('void').click();
    await ben.getByTestId('reason').fill('it was a slip');
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('change-form').waitFor({ state: 'detached' });
    // Another tab of the same browser signs somebody else in: nothing is done under that name by who sits here.
    await ben.evaluate((password) => fetch('/api/review/session', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ name: 'Ana Rojas', password }) }), PASSWORD);
    await ben.getByTestId('amend').first().click();
    await ben.getByTestId('reason').fill('under whose name');
    await ben.getByTestId('change-cancel').click();
    await of(ben).getByTestId('void').click();
    await ben.getByTestId('reason').fill('under whose name');
    await ben.getByTestId('change-save').click();
    await ben.getByTestId('sign-in').waitFor();
    await ana.reload();
    await ana.getByTestId('targets').waitFor();
    assert.equal(await ana.locator('[data-testid=record-row]').filter({ hasText: 'under whose name' }).count(), 0);
    await ben.context().close();
  });

  await t.test('the place of a code and whether it was a drill are corrected at its opening; what was there stays in sight', async () => {
    await ana.reload();
    await ana.getByTestId('tab-record').click();
    const opening = ana.locator('[data-testid=record-row][data-kind=code_opened]');
    assert.equal(await opening.getByTestId('void').count(), 0);
    await opening.getByTestId('amend').click();
    await ana.getByTestId('opening-place').fill(`Bay 2 ${'W'.repeat(50)}`);
    await ana.getByTestId('opening-training').selectOption('false');
    await ana.getByTestId('reason').fill('wheeled over; nobody drilled');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    await ana.getByRole('heading', { name: /^Bay 2 W+ · / }).waitFor();
    assert.ok(await ana.evaluate(() => document.documentElement.scrollWidth <= innerWidth), 'a word without an end is broken');
    assert.equal(await ana.getByTestId('training').count(), 0);
    assert.match(await opening.textContent(), /wheeled over; nobody drilled/);
    assert.match(await opening.locator('s').textContent(), /^0:00 Code opened: Bay 1, DRILL$/);
    assert.match(await opening.locator('strong').textContent(), /^Code opened: Bay 2 W+, real$/);
  });

  await t.test('a closing set too early says how much lies after it, and is taken back', async () => {
    const closing = ana.locator('[data-testid=record-row][data-kind=code_closed]');
    await closing.getByTestId('amend').click();
    await ana.getByTestId('time').fill('9:20');
    await ana.getByTestId('reason').fill('slip');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    await ana.getByTestId('beyond').filter({ hasText: /\d+ facts lie after the closing/ }).waitFor();
    assert.ok((await ana.locator('[data-testid=record-row]').filter({ hasText: 'after the closing, does not count' }).count()) >= 3);
    await closing.getByRole('button', { name: 'Take this back' }).click();
    await ana.getByTestId('reason').fill('the closing was right');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('beyond').waitFor({ state: 'detached' });
  });

  await t.test('a note a year off by a slip stretches no picture; a correction that is taken back is told as such', async () => {
    await ana.reload();
    await ana.getByTestId('targets').waitFor();
    const before = await ana.getByTestId('picture').evaluate((one) => [one.dataset.from, one.dataset.to]);
    const status = await ana.evaluate(async ([id, head]) => {
      const body = { head, reason: 'wrong date', change: { kind: 'add', at_ms: -31_536_000_000, event: { kind: 'note', text: `a year off ${'W'.repeat(300)}` } } };
      return (await fetch(`/api/review/codes/${id}/changes`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })).status;
    }, [ana.url().split('/').at(-1), await head(ana)]);
    assert.equal(status, 201);
    await ana.reload();
    await ana.getByTestId('outside').filter({ hasText: /1 fact lies too far off.*−525600:00.*a year off/ }).waitFor();
    assert.deepEqual(await ana.getByTestId('picture').evaluate((one) => [one.dataset.from, one.dataset.to]), before);
    assert.ok((await ana.getByTestId('picture-printed').count()) <= 20);
    // By keys the far one is reached all the same, and shown by itself.
    await ana.getByTestId('picture').focus();
    await ana.keyboard.press('Home');
    await ana.getByTestId('chosen').filter({ hasText: 'a year off' }).waitFor();
    await ana.waitForFunction(() => Number(document.querySelector('[data-testid=picture]').dataset.from) < -31_000_000_000);
    await ana.keyboard.press('0');
    const struck = ana.locator('[data-testid=record-row][data-struck=true]').filter({ hasText: 'another patient' });
    await struck.getByRole('button', { name: 'Take this back' }).click();
    await ana.getByTestId('reason').fill('it was this patient after all');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('change-form').waitFor({ state: 'detached' });
    await ana.locator('[data-testid=record-row][data-struck=false]').filter({ hasText: /Taken back by Ana Rojas.*it was this patient after all/ }).waitFor();
  });

  await t.test('on a phone facts and prompts are cards: nothing of them lies beside the page', async () => {
    await ana.setViewportSize(PHONE);
    for (const [tab, table] of [['prompts', 'followed'], ['prompts', 'deeds'], ['record', 'record']]) {
      await ana.getByTestId(`tab-${tab}`).click();
      const wide = await ana.getByTestId(table).evaluate((one) => [one.parentElement.scrollWidth, one.parentElement.clientWidth]);
      assert.ok(wide[0] <= wide[1], `${table}: ${wide[0]} of ${wide[1]} px`);
      await fair(ana, `${table} on a phone`);
      await ana.getByTestId(table).evaluate((one) => one.scrollIntoView());
      await shot(ana, `${table}-phone`);
    }
    await ana.setViewportSize(DESK);
  });

  await t.test('a broken CSV of a monitor names row and column, and imports nothing', async () => {
    await ana.reload();
    await ana.getByTestId('targets').waitFor();
    const before = await head(ana);
    const csv = join(stands.data.path, 'monitor.csv');
    writeFileSync(csv, 'start,stop\n0:20,twelve\n');
    await ana.getByTestId('monitor').click();
    await ana.getByTestId('monitor-file').setInputFiles(csv);
    await ana.getByTestId('monitor-reason').fill('from the monitor');
    await ana.getByTestId('monitor-read').click();
    const trouble = await ana.getByTestId('change-trouble').textContent();
    assert.match(trouble, /2/);
    assert.equal(await head(ana), before);
    await fair(ana, 'monitor');
  });

  await t.test('a monitor’s compressions: read, drawn, and chosen for a stretch; then every clock time aligned', async () => {
    const read = await summary(ana);
    const csv = join(stands.data.path, 'monitor.csv');
    writeFileSync(csv, 'start,stop\n11.5,25\n48,160\n');
    // As a person does who mended the file and chooses it once more.
    const [chooser] = await Promise.all([ana.waitForEvent('filechooser'), ana.getByTestId('monitor-file').click()]);
    await chooser.setFiles(csv);
    await ana.getByTestId('monitor-read').click();
    await ana.getByTestId('stretches').waitFor();
    assert.equal(await ana.getByTestId('picture').locator('[data-mark=monitor]').count(), 2);
    assert.equal(await summary(ana), read, 'reading a file changes no figure');
    await ana.getByTestId('stretches').getByRole('button').first().click();
    await ana.getByTestId('choose-reason').fill('the taps were late here');
    await ana.getByTestId('choose-save').click();
    await ana.getByTestId('stretches').locator('tbody tr').first().filter({ hasText: 'the monitor' }).waitFor();
    assert.notEqual(await summary(ana), read, 'the figures follow the choice');
    const chosen = await summary(ana);
    await shot(ana, 'monitor', { fullPage: true });
    // A tap beneath is corrected all the same: it stays set aside, and no figure moves.
    const saying = (words) => ana.getByTestId('record-row').filter({ has: ana.getByTestId('by-choice').filter({ hasText: words }) });
    const aside = saying('set aside: the monitor counts here').first();
    assert.equal(await saying('from the monitor').first().getByTestId('amend').count(), 0, 'what the monitor brought goes with the choice');
    const tap = await aside.getAttribute('data-record');
    await aside.getByTestId('amend').click();
    await ana.getByTestId('time').fill('3');
    assert.equal(await ana.getByTestId('time-read').innerText(), '= 3:00');
    await ana.getByTestId('time').fill('0:30');
    await ana.getByTestId('reason').fill('by the film of the room');
    await ana.getByTestId('change-save').click();
    const corrected = ana.locator(`[data-record="${tap}"]`);
    await corrected.filter({ hasText: /by the film of the room/ }).waitFor();
    assert.match(await corrected.innerText(), /^0:30/);
    assert.equal(await corrected.getByTestId('by-choice').count(), 1);
    assert.equal(await summary(ana), chosen, 'the monitor still counts there');
    await ana.getByTestId('others').filter({ hasText: 'the taps were late here' }).waitFor();
    const fits = await ana.getByTestId('record').evaluate((table) => table.parentElement.scrollWidth <= table.parentElement.clientWidth);
    assert.ok(fits, 'no word that somebody typed makes the record wider than its place');
    await corrected.scrollIntoViewIfNeeded();
    await shot(ana, 'set-aside');
    await ana.getByTestId('align').click();
    await ana.getByTestId('offset').fill('-90');
    await ana.getByTestId('reason').fill('the clock on the wall was 90 s ahead');
    await ana.getByTestId('change-save').click();
    await ana.getByTestId('code-page').filter({ hasText: /clock times moved by [-−]90 s/ }).waitFor();
    assert.equal(await summary(ana), chosen, 'code time and figures stay');
  });

  await t.test('two debriefs at once: the other’s words are shown, and can be joined', async () => {
    const ben = await open();
    await signIn(ben, 'Ben Okafor');
    await openCode(ben);
    for (const [page, words] of [[ben, 'Ventilation was calm.'], [ana, 'Roles were clear.']]) {
      await page.getByTestId('tab-debrief').click();
      await page.getByTestId('went-well').fill(words);
    }
    await ben.getByTestId('debrief-save').click();
    await ben.getByTestId('debrief-kept').waitFor();
    await ana.getByTestId('debrief-save').click();
    await ana.getByTestId('other-debrief').filter({ hasText: 'Ventilation was calm.' }).waitFor();
    await ana.getByTestId('debrief-join').click();
    assert.equal(await ana.getByTestId('went-well').inputValue(), 'Roles were clear.\n\nVentilation was calm.');
    await ana.getByTestId('debrief-save').click();
    await ana.getByTestId('debrief-kept').waitFor();
    await ben.context().close();
  });

  await t.test('debrief, signature with its hash, and a new version beside the signed one', async () => {
    await ana.getByTestId('tab-debrief').click();
    await ana.getByTestId('went-well').fill('Compressions through charging.');
    await ana.getByTestId('to-change').fill('Finger on the pulse earlier.');
    await ana.getByTestId('follow-add').click();
    await ana.getByTestId('follow-who').fill('Charge nurse');
    await ana.getByTestId('follow-what').fill('Drill on Monday');
    // Nothing of it is lost by a look at another part, nor by a session that ended; and it is said to be unsaved.
    await ana.getByTestId('tab-prompts').click();
    await ana.getByTestId('tab-debrief').filter({ hasText: 'not saved yet' }).click();
    await ana.getByTestId('debrief-unsaved').waitFor();
    await ana.getByTestId('sign-sure').check();
    assert.ok(await ana.getByTestId('sign').isDisabled(), 'nobody signs past what is not saved');
    await ana.getByTestId('tab-record').click();
    await ana.getByTestId('amend').first().click();
    await ana.getByTestId('reason').fill('half a reason');
    await ana.getByTestId('tab-debrief').click();
    await ana.evaluate(() => fetch('/api/review/session', { method: 'DELETE' }));
    await ana.getByTestId('debrief-save').click();
    await ana.getByTestId('sign-in-typed').waitFor();
    await signIn(ana, 'Ana Rojas');
    await ana.getByTestId('correction-unsaved').waitFor();
    assert.equal(await ana.getByTestId('reason').inputValue(), 'half a reason');
    await ana.getByTestId('change-cancel').click();
    await ana.getByTestId('tab-debrief').click();
    assert.deepEqual(await Promise.all(['went-well', 'to-change', 'follow-who', 'follow-what'].map((one) => ana.getByTestId(one).inputValue())),
      ['Compressions through charging.', 'Finger on the pulse earlier.', 'Charge nurse', 'Drill on Monday']);
    await fair(ana, 'typed');
    await ana.getByTestId('debrief-save').click();
    await ana.getByTestId('debrief-kept').waitFor();
    const signed = await head(ana);
    assert.equal((await ana.getByTestId('head').textContent()).trim(), signed);
    const late = await open();
    await signIn(late, 'Ben Okafor');
    await openCode(late);
    await late.getByTestId('tab-debrief').click();
    await late.getByTestId('went-well').fill('A word too late.');
    await ana.getByTestId('sign-sure').check();
    await ana.getByTestId('sign').click();
    await ana.getByTestId('signature').filter({ hasText: 'Signed by Ana Rojas' }).waitFor();
    assert.match(await ana.getByTestId('versions').textContent(), new RegExp(signed));
    await fair(ana, 'signed');
    await shot(ana, 'signed', { fullPage: true });
    // Who typed while it was signed keeps the words in sight.
    await late.getByTestId('debrief-save').click();
    await late.getByTestId('debrief-typed').filter({ hasText: 'A word too late.' }).waitFor();
    await fair(late, 'typed too late');
    await late.getByTestId('typed-drop').click();
    await late.getByTestId('debrief-typed').waitFor({ state: 'detached' });
    await late.context().close();
  });

  await t.test('on paper: A4 and Letter, with the picture as vectors, corrections, signature and hash', async () => {
    await ana.emulateMedia({ media: 'print' });
    const text = await ana.getByTestId('report').innerText();
    for (const wanted of [/Clock times moved by -90 s by Ana Rojas, .* UTC: the clock on the wall was 90 s ahead/, /monitor\.csv of a monitor read by Ana Rojas/, /Compressions of monitor\.csv count from .*the taps were late here/, /Signed by Ana Rojas, .* UTC/,  /[0-9a-f]{64}/, /the camera shows it/, /Compressions through charging\./, /Drill on Monday/, /Nobody taps breaths/]) assert.match(text, wanted);
    // What was taken back is struck through and says so; the parts of a line stand apart.
    const back = ana.getByTestId('report-corrections').locator('li').filter({ hasText: 'it was this patient after all' });
    assert.match(await back.locator('s').innerText(), /^Struck out by Ana Rojas, .*another patient$/);
    assert.match(await back.innerText(), /\d:\d\d \S.* – Struck out by .* – Taken back by Ana Rojas, /);
    assert.match(await ana.getByTestId('report-corrections').innerText(), /\d:\d\d \D+ \d:\d\d \D+ – Corrected by Ana Rojas/);
    assert.deepEqual(await ana.getByTestId('report').evaluate((one) => [...one.querySelectorAll('p, li, dd, td')].filter((part) => part.scrollWidth > part.clientWidth + 1 && part.clientWidth > 0).map((part) => part.textContent.slice(0, 40))), [], 'nothing is cut off');
    assert.ok(await ana.getByTestId('picture-printed').first().isVisible());
    assert.ok(await ana.getByTestId('code-page').isHidden(), 'nothing to press on paper');
    assert.deepEqual(await lowContrast(ana), [], 'print: contrast');
    await shot(ana, 'print', { fullPage: true });
    await ana.emulateMedia({ media: null });
    for (const format of ['A4', 'Letter']) {
      const pdf = await ana.pdf({ path: join(OUTPUT, `review-${format}.pdf`), format });
      const pages = pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0;
      assert.ok(pages >= 1 && pages <= 12, `${format}: ${pages} pages`);
      assert.ok(!/\/Subtype\s*\/Image/.test(pdf.toString('latin1')), `${format}: no pixels`);
    }
  });

  await t.test('a later change needs a new version; what was signed stays readable', async () => {
    await ana.getByTestId('tab-record').click();
    await ana.getByTestId('closed-for-changes').waitFor();
    assert.equal(await ana.getByTestId('amend').count(), 0);
    await ana.getByTestId('tab-debrief').click();
    await ana.getByTestId('version-reason').fill('the ward found the strip');
    await ana.getByTestId('version-new').click();
    await ana.getByTestId('standing').filter({ hasText: 'version 2' }).waitFor();
    await ana.getByTestId('version-1').click();
    await ana.getByTestId('old-version').waitFor();
    assert.equal(await ana.getByTestId('standing').textContent().then((text) => text.trim()), 'signed');
    // On paper too: with its own signature, said to be old, and every version with its reason.
    await ana.emulateMedia({ media: 'print' });
    const [standing, versions] = await Promise.all(['report-standing', 'report-versions'].map((one) => ana.getByTestId(one).innerText()));
    assert.match(standing, /^signed · version 1 ·/);
    assert.match(versions, /version 1 – Signed by Ana Rojas.*\n[0-9a-f]{64}\nversion 2 – the ward found the strip – not signed/);
    assert.ok(versions.includes(await ana.getByTestId('report-head').innerText()), 'the hash that was signed');
    assert.match(await ana.getByTestId('report').innerText(), /not the present record: version 2 came after it/);
    await ana.emulateMedia({ media: null });
    assert.deepEqual(ana.faults, []);
  });

  await t.test('the access log says who did what; a reviewer who is no administrator is not offered it', async () => {
    await ana.getByRole('link', { name: 'Access log' }).click();
    const log = await ana.getByTestId('access').textContent();
    for (const wanted of ['signed a record', 'changed a record', 'opened a code', 'Ben Okafor']) assert.ok(log.includes(wanted), wanted);
    await fair(ana, 'access log');
  });

  await t.test('many codes: a control chart with its table, and two places side by side, unranked', async () => {
    await ana.getByRole('link', { name: 'Trends' }).click();
    await ana.getByTestId('trend-table').waitFor();
    const months = await ana.getByTestId('trend-table').locator('tbody tr').count();
    assert.ok(months >= 2, String(months));
    assert.equal(await ana.locator('[data-testid=trend-side] svg g').count(), months, 'a point a month');
    await ana.getByTestId('look').selectOption('target pauses');
    await ana.getByTestId('trend-table').filter({ hasText: /\d+ of \d+: \d+\s% \(\d+\s% to \d+\s%\)/ }).waitFor();
    await ana.getByTestId('trend-location').selectOption('Ward 1');
    await ana.getByTestId('trend-than').selectOption('place');
    await ana.getByTestId('trend-than-location').selectOption('Ward 2');
    await ana.waitForFunction(() => document.querySelectorAll('[data-testid=trend-side]').length === 2);
    assert.deepEqual(await ana.locator('[data-testid=trend-side] h3').allTextContents(), ['Ward 1', 'Ward 2']);
    assert.match(await ana.getByTestId('trend-values').textContent(), /n = \d+/);
    for (const light of ['dark', 'light']) {
      await ana.getByTestId('light').selectOption(light);
      await fair(ana, `trends, ${light}`);
      await shot(ana, `trends-${light}`, { fullPage: true });
    }
    // Only the simulated team's code has prompts, and it became a real one above.
    await ana.getByTestId('trend-than').selectOption('nothing');
    await ana.getByTestId('trend-location').selectOption('');
    await ana.getByTestId('trend-prompts').filter({ hasText: /rhythm check\d of \d.*After due: [−\d.,]+\s?s \(/ }).waitFor();
    await ana.getByTestId('language').selectOption('fr');
    await ana.getByRole('heading', { name: 'Tendances' }).waitFor();
    await ana.getByTestId('language').selectOption('en');
    await ana.getByRole('heading', { name: 'Trends' }).waitFor();
    assert.deepEqual(ana.faults, []);
  });

  await t.test('an export of a code is a file, de-identified unless somebody says otherwise', async () => {
    await ana.getByRole('link', { name: 'Codes' }).click();
    await openCode(ana);
    await ana.getByTestId('export').locator('summary').click();
    const [download] = await Promise.all([ana.waitForEvent('download'), ana.getByTestId('export-go').click()]);
    assert.match(download.suggestedFilename(), /\.jsonl$/);
    const text = readFileSync(await download.path(), 'utf8');
    assert.ok(text.split('\n').length > 50);
    assert.doesNotMatch(text, /Ana Rojas|Bay 1/);
    await fair(ana, 'export');
  });

  await t.test('a device at the bedside opens no review, with its own token', async () => {
    const tablet = await pair(stands.browser, stands.server, { name: 'Bay 3 drugs', location: 'Bay 3', role: 'drugs' });
    const answers = await tablet.evaluate(async () => {
      const list = await fetch('/api/review/codes');
      return { status: list.status, body: await list.json() };
    });
    assert.equal(answers.status, 401);
    assert.equal(answers.body.codes, undefined);
    await tablet.goto(`${stands.server.address}/review`);
    await tablet.getByTestId('sign-in').waitFor();
    await tablet.context().close();
  });
});
