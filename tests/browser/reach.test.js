//! What a person needs next is in view and in words: another role's task by its name, sentences without the keys of our
//! sources, rows that show whole or not at all, the way to take roles over at a new place, and the way out of a code.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { close, play, SCENES, shown } from './scenes.js';
import { click, faults, hands, pair, pairTeam, PHONE, picture, says, stage, story, TABLET, tap, task } from './team.js';

const SMALL = { width: 320, height: 568 };
const stands = stage('1');
const scene = (name) => SCENES.find((one) => one.name === name);

/** Whether an element lies whole within the page, with nothing over its middle. */
const inView = (page, id) => page.getByTestId(id).first().evaluate((element) => {
  const box = element.getBoundingClientRect();
  const hit = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
  return box.top >= 0 && box.bottom <= innerHeight + 1 && hit !== null && element.contains(hit);
});
/** Waits until it is so: panels scroll and settle within some frames. */
async function comesIntoView(page, id) {
  for (let turn = 0; turn < 40; turn += 1) {
    if (await inView(page, id)) return;
    await page.waitForTimeout(50);
  }
  assert.fail(`${id} is not in view: ${JSON.stringify(await page.getByTestId(id).first().boundingBox())}`);
}
/** Rows of the team's list that the panel's edge, or the bar there, cuts in two. */
const halves = (page) => page.evaluate(() => {
  const panel = document.querySelector('[data-testid=team]').closest('.right').getBoundingClientRect();
  const bar = document.querySelector('[data-testid=below]')?.getBoundingClientRect().top ?? panel.bottom;
  const cut = [...document.querySelectorAll('[data-testid=team] tr')].filter((row) => {
    const box = row.getBoundingClientRect();
    return box.top < bar - 1 && box.bottom > bar + 1;
  });
  return cut.map((row) => row.innerText);
});

test('what a person needs next is in view', { timeout: 240_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, drugs, relief } = team;
  let code;

  await step('the leader reads another role’s task, not only under which circumstance it is', async () => {
    code = await play(leader, scene('pregnancy'));
    await shown([leader, relief], code);
    await task(relief, 'special_care', /Push uterus/);
    await says(leader, 'team-relief', /Push uterus/);
    for (let turn = 0; turn < 40 && (await halves(leader)).length > 0; turn += 1) await leader.waitForTimeout(50);
    assert.deepEqual(await halves(leader), []);
    await close(leader, code);
  });

  await step('sentences are plain words; their source stands behind a tap; rows below the edge are counted', async () => {
    code = await play(leader, scene('cold-shocks'));
    await shown([leader], code);
    await says(leader, 'note-open', /below 30 °C: no drugs\.$/);
    assert.doesNotMatch(await leader.getByTestId('notes').innerText(), /\b[A-Z]\d{1,2}\b/);
    assert.equal(await leader.getByTestId('note-source').count(), 0);
    await click(leader.getByTestId('note-open').first());
    await says(leader, 'note-source', /^Source: .*S10/);
    await click(leader.getByTestId('note-open').first());
    await says(leader, 'below', /more below – \d due/);
    for (let turn = 0; turn < 40 && (await halves(leader)).length > 0; turn += 1) await leader.waitForTimeout(50);
    assert.deepEqual(await halves(leader), []);
    await tap(leader, 'below');
    await comesIntoView(leader, 'team-defibrillator');
    await close(leader, code);
  });

  await step('what is late stands on the leader’s screen beside the task, with its lateness', async () => {
    code = await play(leader, scene('late'));
    await shown([leader], code);
    await leader.setViewportSize(PHONE);
    await says(leader, 'late-of', /Drugs: give Epinephrine \(adrenaline\) \+1:/);
    await leader.setViewportSize(TABLET);
    await close(leader, code);
  });

  await step('moved: the roles can be taken back where the question is asked, on every size', async () => {
    code = await play(leader, scene('early'));
    await shown(Object.values(team), code);
    const unit = {};
    for (const role of ['leader', 'drugs']) unit[role] = await pair(stands.browser, stands.server, { name: `ICU ${role}`, location: 'ICU 3', role });
    await tap(leader, 'panel-more');
    await tap(leader, 'tap-moved');
    await leader.getByTestId('option-text').fill('ICU 3');
    await tap(leader, 'option-save');
    await tap(leader, 'panel-picture');
    await shown(Object.values(unit), code);
    for (const size of [TABLET, PHONE, SMALL]) {
      await unit.leader.setViewportSize(size);
      await unit.leader.reload();
      await task(unit.leader, 'confirm_roles', /Moved: confirm the roles/);
      await tap(unit.leader, 'roles-change');
      await comesIntoView(unit.leader, 'handover-all');
      await tap(unit.leader, 'handover-all');
      await comesIntoView(unit.leader, 'handover-confirm');
      await hands(unit.leader, 'compress');
    }
    await picture(unit.leader, '60-handover-armed');
    await close(unit.leader, code);
    for (const page of Object.values(unit)) await page.context().close();
  });

  await step('a device leaves: asked once more, its role is open, a reload does not bring it back, and it may join again', async () => {
    code = await play(leader, scene('early'));
    await shown(Object.values(team), code);
    await tap(drugs, 'leave-code');
    await says(drugs, 'leave-question', /Nobody has its roles then: Drugs/);
    await tap(drugs, 'leave-stay');
    await drugs.getByTestId('leave-code').waitFor();
    await tap(drugs, 'leave-code');
    await picture(drugs, '61-leave');
    await drugs.setViewportSize(TABLET);
    await tap(drugs, 'leave-confirm');
    await drugs.getByTestId('home').waitFor();
    await says(leader, 'team-drugs', /nobody/);
    await tap(leader, 'panel-record');
    await leader.locator('[data-testid=timeline-row][data-kind=device_left]').waitFor();
    await says(leader, 'timeline-row', /Left the code by Bay 1 drugs/);
    await tap(leader, 'panel-picture');
    await drugs.reload();
    await drugs.getByTestId('running-code').waitFor();
    await tap(drugs, 'join');
    await tap(drugs, 'join-submit');
    await drugs.locator('[data-testid=screen][data-role=drugs]').waitFor();
    await says(leader, 'team-drugs', /Bay 1 drugs/);
    await close(leader, code);
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
