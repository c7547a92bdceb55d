//! How the screens look at moments of all kinds of codes, in every role: no text is cut, covered or beyond the edge, all of it has
//! a contrast of at least 7:1 in both lights and both phases of a flash, what is touched is large enough and apart, what is to be
//! read from 2 m is large enough for that, and axe-core finds nothing. The checks are shown to fail first.
//! What each number stands on is in docs/design-language.md.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { axe, badTargets, capitals, CONTRAST, cutOff, lowContrast, MAIN_TARGET } from './audit.js';
import { close, play, SCENES, shown } from './scenes.js';
import { faults, pairTeam, PHONE, settled, stage, story, TABLET, tap } from './team.js';

/** Beside tablet and phone, which every scene is seen on: a small phone, a tablet upright, a larger one. */
const OTHER_SIZES = [[320, 568], [768, 1024], [1280, 800]];
/** A wall screen; and tablet and phone at 200 % zoom, which halves what a page is told (W3C WCAG 2.2, 1.4.4). */
const FAR_SIZES = [[3840, 2160], [512, 384], [195, 422]];
/** The scenes that hold each new part of a screen are seen on the other sizes too, the first few on all. */
const LOOKED_AT = ['pregnancy', 'crowd', 'cold-shocks', 'trauma', 'child-doubt', 'child-weight', 'refractory', 'mechanical', 'overdue', 'clear', 'twice', 'late', 'leave', 'aftercare', 'ending', 'death', 'moved', 'prior', 'standby'];
const FAR = ['overdue', 'clear', 'trauma', 'standby', 'rhythm'];
/** Minutes of arc at 2 m as capital heights in px, at 5.2 px a mm: ISO 9241-3, as quoted in IBM's notes on display characters: 20 preferred, 16 the minimum. */
const capitalsAt = (distance_mm, minutes) => ((6.283 * distance_mm * minutes) / 21_600) * 5.2;
const [BED_MM, NEAR_MM] = [2000, 1400];
/** What comes later is not acted on from afar: it may be read across a bed's width. */
const LATER = /^Next: /;
const stands = stage('1');


async function badAtSizes(page, sizes) {
  const found = [];
  for (const [width, height] of sizes) {
    await page.setViewportSize({ width, height });
    await settled(page);
    const tablet = Math.min(width, height) >= 768;
    found.push(...(await cutOff(page)).map((one) => `${width}x${height}: ${one}`));
    found.push(...(await badTargets(page, { main: tablet ? MAIN_TARGET : 0 })).map((one) => `${width}x${height}: ${one}`));
  }
  return found;
}
const px = ({ width, height }) => [width, height];
const EVERY_SIZE = [[320, 568], px(PHONE), [768, 1024], px(TABLET), [1280, 800]];

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

/** axe-core on the tablet in the dark, and where `both`, on the phone in the light. */
async function byAxe(page, both) {
  const found = [];
  for (const [size, colorScheme] of both ? [[TABLET, 'dark'], [PHONE, 'light']] : [[TABLET, 'dark']]) {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme });
    await settled(page);
    found.push(...(await axe(page)).map((one) => `${size.width}, ${colorScheme}: ${one}`));
  }
  await page.emulateMedia({ colorScheme: 'dark' });
  return found;
}

/** What cannot be read from 2 m and should be. */
async function tooSmall(page) {
  await page.setViewportSize(TABLET);
  await settled(page);
  // A task that says much, such as a doubt or how a weight is known, gives its words and digits less room.
  const full = await page.getByTestId('task').evaluate((one) => one.dataset.tight !== '0' || one.querySelector('.doubt') !== null || one.querySelectorAll('.lines > *').length > 2);
  const short = async (what, selector, minutes, distance) => (await capitals(page, selector))
    .filter(({ words, px }) => px < capitalsAt(distance(words), minutes))
    .map(({ words, px }) => `${what} “${words}” ${px.toFixed(1)} px`);
  return [
    ...(await short('order', '[data-testid=hands] .word', 20, () => BED_MM)),
    ...(await short('task', '[data-testid=task] .words > span', 16, (words) => (full || LATER.test(words) ? NEAR_MM : BED_MM))),
    ...(await short('digits', '[data-testid=countdown] .digits', 16, () => (full ? NEAR_MM : BED_MM))),
  ];
}


test('all words can be read', { timeout: 900_000 }, async (t) => {
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

  for (const scene of SCENES) {
    await step(scene.name, async () => {
      const code = await play(leader, scene);
      await shown(scene.roles.map((role) => team[role]), code);
      for (const role of scene.roles) {
        for (const id of scene.press?.[role] ?? []) await tap(team[role], id);
        const sizes = [px(PHONE), ...(LOOKED_AT.includes(scene.name) ? OTHER_SIZES : []), ...(FAR.includes(scene.name) ? FAR_SIZES : []), px(TABLET)];
        const found = [...(await tooSmall(team[role])), ...(await badAtSizes(team[role], sizes)), ...(await contrastInEachLight(team[role])), ...(await byAxe(team[role], LOOKED_AT.includes(scene.name)))];
        assert.deepEqual(found, [], role);
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
    assert.deepEqual(await badAtSizes(drugs, EVERY_SIZE), []);
    await tap(drugs, 'unit-1');
    assert.deepEqual(await badAtSizes(drugs, EVERY_SIZE), []);
    assert.deepEqual(await contrastInEachLight(drugs), []);
    for (const panel of ['roles', 'patient', 'causes', 'record', 'more']) {
      await tap(leader, `panel-${panel}`);
      assert.deepEqual(await badAtSizes(leader, EVERY_SIZE), [], panel);
      assert.deepEqual(await contrastInEachLight(leader), [], panel);
    }
    await close(leader, code);
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
