//! How the screens look at moments of all kinds of codes, on every size that is supported: no text is cut, covered or beyond
//! the edge, and all of it has a contrast of at least 7:1, in both phases of a flash. The two checks are shown to fail first.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { CONTRAST, cutOff, lowContrast } from './audit.js';
import { close, play, SCENES, shown } from './scenes.js';
import { faults, pairTeam, stage, story, tap } from './team.js';

const SIZES = [[320, 568], [390, 844], [768, 1024], [1024, 768], [1280, 800]];
/** Of the scenes those that hold each new part of a screen; the others are for looking at (`scenes.js`). */
const LOOKED_AT = ['pregnancy', 'crowd', 'cold-shocks', 'trauma', 'child-doubt', 'child-weight', 'refractory', 'mechanical', 'overdue', 'clear', 'twice', 'late', 'leave', 'aftercare', 'ending', 'death', 'moved', 'prior', 'standby'];
const stands = stage('1');

/** Two frames, so that what is fitted to its box has settled. */
const settled = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(done)))));

async function cutAtAnySize(page) {
  const found = [];
  for (const [width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    await settled(page);
    found.push(...(await cutOff(page)).map((one) => `${width}x${height}: ${one}`));
  }
  return found;
}

/** The contrast where the system asks for dark or for light, and in both phases of each flash. */
async function contrastInEachLight(page) {
  const found = [];
  for (const colorScheme of ['dark', 'light']) {
    for (const phase of [0.25, 0.75]) {
      await page.emulateMedia({ colorScheme, reducedMotion: 'no-preference' });
      await page.evaluate((phase) => {
        for (const flash of document.getAnimations()) {
          flash.pause();
          flash.currentTime = phase * Number(flash.effect.getComputedTiming().duration);
        }
      }, phase);
      found.push(...(await lowContrast(page)).map((one) => `${colorScheme}, ${phase}: ${one}`));
    }
  }
  await page.emulateMedia({ colorScheme: 'dark', reducedMotion: 'reduce' });
  return found;
}

test('all words can be read', { timeout: 360_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, drugs } = team;

  await step('the checks find what is planted', async () => {
    const planted = (style) => leader.evaluate((style) => {
      document.body.insertAdjacentHTML('beforeend', `<div id="planted" style="position:fixed;left:20px;top:20px;z-index:99;${style}">planted</div>`);
    }, style);
    const gone = () => leader.evaluate(() => document.getElementById('planted').remove());
    assert.deepEqual(await lowContrast(leader), []);
    assert.deepEqual(await cutOff(leader), []);
    // Grey #767676 on white is 4.54:1, the well-known edge of level AA; #595959 is 7.00:1, that of AAA (W3C, from memory).
    await planted('background:#fff;color:#767676');
    assert.match((await lowContrast(leader)).join(), /planted” 4\.5\d:1/);
    assert.deepEqual(await lowContrast(leader, 4.5), []);
    await gone();
    await planted('background:#fff;color:#595959');
    assert.deepEqual(await lowContrast(leader), [], `${CONTRAST}:1 is enough`);
    await gone();
    await planted('background:#fff;color:#000;opacity:0.5');
    assert.match((await lowContrast(leader)).join(), /planted/);
    await gone();
    await planted('background:#fff;color:#000;height:11px;overflow:hidden');
    assert.match((await cutOff(leader)).join(), /cut in height: “planted”/);
    await gone();
    await planted('background:#fff;color:#000;left:-30px');
    assert.match((await cutOff(leader)).join(), /beyond the edge: “planted”/);
    await gone();
    await planted('background:#fff;color:#000;inset:0');
    assert.match((await cutOff(leader)).join(), /covered/);
    await gone();
  });

  for (const scene of SCENES.filter(({ name }) => LOOKED_AT.includes(name))) {
    await step(scene.name, async () => {
      const code = await play(leader, scene);
      await shown(scene.roles.map((role) => team[role]), code);
      for (const role of scene.roles) {
        for (const id of scene.press?.[role] ?? []) await tap(team[role], id);
        assert.deepEqual(await cutAtAnySize(team[role]), [], role);
        assert.deepEqual(await contrastInEachLight(team[role]), [], role);
        if (scene.press?.[role]) await team[role].reload();
      }
      await close(leader, code);
    });
  }

  await step('on a small phone the last tap can be taken back, and the page scrolls under the hands line', async () => {
    const code = await play(leader, SCENES.find(({ name }) => name === 'early'));
    await shown([drugs], code);
    await drugs.setViewportSize({ width: 320, height: 568 });
    await tap(drugs, 'tap-access_lost');
    await tap(drugs, 'option-iv');
    const undo = await drugs.getByTestId('undo-button').boundingBox();
    assert.ok(undo.height >= 60 && undo.width >= 100, `the button is ${undo.width} x ${undo.height}`);
    // For its five seconds the bar stands over what comes next.
    assert.deepEqual((await cutOff(drugs)).filter((one) => !one.startsWith('covered by undo')), []);
    await drugs.getByTestId('notice').scrollIntoViewIfNeeded();
    assert.equal((await drugs.getByTestId('hands').boundingBox()).y, 0);
    await close(leader, code);
  });

  await step('the questions: a dose in a unit of six, the leader’s panels', async () => {
    const code = await play(leader, SCENES.find(({ name }) => name === 'hyperkalaemia'));
    await shown([leader, drugs], code);
    await tap(drugs, 'tap-drug_given');
    await tap(drugs, 'option-calcium_chloride');
    assert.deepEqual(await cutAtAnySize(drugs), []);
    await tap(drugs, 'unit-1');
    assert.deepEqual(await cutAtAnySize(drugs), []);
    assert.deepEqual(await contrastInEachLight(drugs), []);
    for (const panel of ['roles', 'patient', 'causes', 'record', 'more']) {
      await tap(leader, `panel-${panel}`);
      assert.deepEqual(await cutAtAnySize(leader), [], panel);
      assert.deepEqual(await contrastInEachLight(leader), [], panel);
    }
    await close(leader, code);
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
