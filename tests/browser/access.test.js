//! For ears, keys and switches, and for whoever asked for less motion: every role's main tasks by keyboard alone, the focus stays
//! where it was, a screen reader is told a task when it changes and no second that passes, a countdown goes by whole
//! seconds. And the grid that the album compares pictures by: it sees a planted change.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { axe } from './audit.js';
import { difference, gridOf } from './likeness.js';
import { close, play, SCENES, shown } from './scenes.js';
import { faults, hands, pair, pairTeam, press, stage, story, TABLET, tap, task } from './team.js';

const stands = stage('1');
const scene = (name) => SCENES.find((one) => one.name === name);
const MOST_TABS = 90;

/** What has the focus: its test id, and whether that can be seen. */
const focus = (page) => page.evaluate(() => {
  const one = document.activeElement;
  return { id: one?.dataset?.testid ?? one?.tagName, ring: one ? getComputedStyle(one).outlineStyle !== 'none' && parseFloat(getComputedStyle(one).outlineWidth) >= 3 : false };
});

/** Goes to a button by Tab alone, as a person does who sees the ring, and presses it. */
async function byKeys(page, id, key = 'Enter') {
  for (let turn = 0; turn < MOST_TABS; turn += 1) {
    const on = await focus(page);
    if (on.id === id) {
      assert.ok(on.ring, `${id} shows that it has the focus`);
      await page.keyboard.press(key);
      return turn;
    }
    await page.keyboard.press('Tab');
  }
  return assert.fail(`${id} was not reached by ${MOST_TABS} tabs; the focus is on ${JSON.stringify(await focus(page))}`);
}

/** Counts what a screen reader is told on a page from now on. */
const listen = (page) => page.evaluate(() => {
  window.told = [];
  window.digits = 0;
  const live = [...document.querySelectorAll('[aria-live], [role=status], [role=alert]')];
  for (const one of live) new MutationObserver(() => window.told.push(one.textContent)).observe(one, { childList: true, characterData: true, subtree: true });
  new MutationObserver(() => { window.digits += 1; }).observe(document.querySelector('[data-testid=code-clock]'), { characterData: true, subtree: true, childList: true });
  return live.length;
});
const told = (page) => page.evaluate(() => ({ told: window.told, digits: window.digits }));

test('a code by keys alone, and for ears', { timeout: 240_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const { leader, compressor, relief, airway, drugs, defibrillator, recorder } = team;
  const step = story(t, team);
  let code;

  await step('the leader starts the code and answers by Enter and Space', async () => {
    await byKeys(leader, 'start-code');
    await byKeys(leader, 'start-adult-now', 'Space');
    await leader.locator('[data-testid=screen]').waitFor();
    await shown(Object.values(team), await leader.locator('[data-testid=screen]').getAttribute('data-code'));
  });

  await step('every role does its task by keys, and the focus stays on the main button', async () => {
    await byKeys(compressor, 'primary');
    await hands(leader, 'compress');
    await leader.locator('[data-testid=hands]').filter({ hasText: /compressing/ }).waitFor();
    // The button rested after the tap, and says another thing now: the next press needs no way back.
    await compressor.locator('[data-testid=primary][data-kind=compressions_stopped]:enabled').waitFor();
    await compressor.waitForFunction(() => document.activeElement?.dataset.testid === 'primary');
    await byKeys(defibrillator, 'primary');
    await byKeys(drugs, 'access-iv', 'Space');
    await byKeys(airway, 'primary');
    await byKeys(relief, 'primary');
    await byKeys(recorder, 'note');
    await byKeys(recorder, 'option-text');
    await recorder.keyboard.type('seen by keys');
    await byKeys(recorder, 'option-save');
    await byKeys(recorder, 'when-save');
    await recorder.getByTestId('timeline').filter({ hasText: 'seen by keys' }).waitFor();
    await byKeys(leader, 'panel-causes', 'Space');
    await leader.getByTestId('causes').waitFor();
    await leader.getByTestId('panel-picture').click();
  });

  await step('no page traps the focus: Tab comes round', async () => {
    for (const page of [leader, drugs]) {
      await page.evaluate(() => document.activeElement?.blur());
      const seen = new Set();
      let round = false;
      for (let turn = 0; turn < MOST_TABS && !round; turn += 1) {
        await page.keyboard.press('Tab');
        const mark = await page.evaluate(() => {
          const one = document.activeElement;
          if (!one || one === document.body) return 'body';
          one.dataset.tabbed ??= String(Math.random());
          return one.dataset.tabbed;
        });
        round = seen.has(mark);
        seen.add(mark);
      }
      assert.ok(round && seen.size > 5, `${seen.size} stops`);
    }
    await close(leader, await leader.locator('[data-testid=screen]').getAttribute('data-code'));
  });

  await step('when a question takes the place of the button, the keyboard is on the question', async () => {
    code = await play(leader, { ...scene('late'), ago_ms: 388_000, events: scene('late').events });
    await shown([leader], code);
    for (let turn = 0; turn < MOST_TABS && (await focus(leader)).id !== 'primary'; turn += 1) await leader.keyboard.press('Tab');
    assert.equal((await focus(leader)).id, 'primary');
    await press(compressor, 'compressions_stopped');
    await task(leader, 'read_rhythm', /Rhythm/);
    await leader.waitForFunction(() => document.activeElement?.dataset.testid?.startsWith('rhythm-'));
    await leader.keyboard.press('Tab');
    assert.match((await focus(leader)).id, /^rhythm-/);
    await close(leader, code);
  });

  await step('a screen reader hears the task and the order when they change, and no second', async () => {
    code = await play(leader, scene('early'));
    await shown([drugs, compressor], code);
    await drugs.waitForTimeout(500);
    assert.ok((await listen(drugs)) >= 2, 'the order and the task are told');
    await listen(compressor);
    await drugs.waitForFunction(() => window.digits >= 4);
    assert.deepEqual((await told(drugs)).told, [], 'seconds went by, nothing was told');
    await press(compressor, 'compressions_stopped');
    await hands(drugs, 'pause');
    await drugs.waitForFunction(() => window.told.length > 0);
    assert.match((await told(drugs)).told.join(' | '), /PAUSE/);
    assert.ok((await told(drugs)).told.length <= 2, 'once');
    assert.match((await told(compressor)).told.join(' | '), /Hands off|PAUSE/);
    await drugs.waitForFunction(() => window.digits >= 8);
    assert.doesNotMatch((await told(drugs)).told.join(' | '), /\d s more/);
    assert.equal(await drugs.locator('[data-testid=countdown] .digits').getAttribute('aria-hidden'), 'true');
    await close(leader, code);
  });

  await step('less motion: nothing moves by itself, the blades go by whole seconds; with motion they glide', async () => {
    code = await play(leader, scene('late'));
    await shown([drugs], code);
    await task(drugs, 'give_drug', /Give/);
    assert.equal(await drugs.evaluate(() => document.getAnimations().length), 0);
    await drugs.emulateMedia({ reducedMotion: 'no-preference' });
    await drugs.waitForFunction(() => document.getAnimations().length > 0);
    await drugs.emulateMedia({ reducedMotion: 'reduce' });
    const blades = (page) => page.locator('[data-testid=task] [data-testid=drain]').evaluate(async (one) => {
      const seen = new Set();
      for (let turn = 0; turn < 30; turn += 1) {
        await new Promise((done) => setTimeout(done, 60));
        seen.add(Number(one.dataset.blades));
      }
      return [...seen];
    });
    await close(leader, code);
    code = await play(leader, scene('leave'));
    await shown([leader], code);
    // The leader's next task lies ahead, by less than the row: its blades go.
    const calm = await blades(leader);
    assert.ok(calm.length >= 2 && calm.every((one) => Math.abs(one * 10 - Math.round(one * 10)) < 1e-6), calm.join());
    await leader.emulateMedia({ reducedMotion: 'no-preference' });
    assert.ok((await blades(leader)).length > calm.length + 2);
    await leader.emulateMedia({ reducedMotion: 'reduce' });
    await close(leader, code);
  });

  await step('the choices of this device: light, dark, the hand’s side', async () => {
    code = await play(leader, scene('early'));
    await shown([drugs], code);
    const side = async () => (await drugs.getByTestId('task').boundingBox()).x > TABLET.width / 3 ? 'right' : 'left';
    const light = () => drugs.evaluate(() => document.documentElement.dataset.light);
    assert.equal(await side(), 'right');
    assert.equal(await light(), 'dark');
    await tap(drugs, 'this-device-fold');
    await tap(drugs, 'hand-left');
    assert.equal(await side(), 'left');
    await tap(drugs, 'light-light');
    assert.equal(await light(), 'light');
    await drugs.reload();
    await drugs.getByTestId('task').waitFor();
    assert.deepEqual([await side(), await light()], ['left', 'light'], 'kept on this device');
    await tap(drugs, 'this-device-fold');
    await tap(drugs, 'light-room');
    assert.equal(await light(), 'dark');
    await drugs.emulateMedia({ colorScheme: 'light' });
    await drugs.waitForFunction(() => document.documentElement.dataset.light === 'light');
    await tap(drugs, 'hand-right');
    await close(leader, code);
  });

  await step('axe-core finds what is planted, and nothing on the pages outside a code', async () => {
    const guest = await pair(stands.browser, stands.server, { name: 'Bay 9 drugs', location: 'Bay 9', role: 'drugs' });
    const pages = { home: [], start: ['start-code'], settings: ['settings'], pairing: ['pair-more'] };
    for (const [name, presses] of Object.entries(pages)) {
      await guest.reload();
      await guest.getByTestId('home').waitFor();
      for (const id of presses) await tap(guest, id);
      assert.deepEqual(await axe(guest), [], name);
    }
    await guest.evaluate(() => document.body.insertAdjacentHTML('beforeend', '<button id="planted"></button>'));
    assert.match((await axe(guest)).join(), /button-name/);
    await guest.evaluate(() => document.getElementById('planted').remove());

    const grid = await gridOf(guest, await guest.screenshot());
    assert.equal(difference(grid, await gridOf(guest, await guest.screenshot())), null, 'the same screen looks alike');
    await guest.evaluate(() => { document.querySelector('button').style.visibility = 'hidden'; });
    assert.match(difference(grid, await gridOf(guest, await guest.screenshot())) ?? 'alike', /cells differ/, 'a missing button shows');
    await guest.context().close();
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
