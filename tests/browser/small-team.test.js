//! Two people with a phone each run a code: every role is one of theirs, each phone shows one task at a time, and whoever does no
//! more than what it asks gets pads on, a shock given and epinephrine in.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { faults, hands, pair, PATIENCE_MS, PHONE, picture, stage, story, tap } from './team.js';

const stands = stage('4');

/** Does what a phone asks now, as somebody does who knows nothing else; `rhythm` is what the monitor shows. */
async function follow(page, rhythm) {
  const task = page.getByTestId('task');
  const [action, urgency] = [await task.getAttribute('data-action'), await task.getAttribute('data-urgency')];
  if (urgency === 'none') return null;
  const button = action === 'read_rhythm' ? `rhythm-${rhythm}` : action === 'gain_access' ? 'access-iv' : 'primary';
  page.setDefaultTimeout(2000);
  try {
    await tap(page, button);
  } catch {
    // The next view took the button away: then it is asked anew.
  } finally {
    page.setDefaultTimeout(PATIENCE_MS);
  }
  return action;
}

test('two phones, one code', { timeout: 300_000 }, async (t) => {
  const first = await pair(stands.browser, stands.server, { name: 'First phone', role: 'leader' });
  const second = await pair(stands.browser, stands.server, { name: 'Second phone', role: 'compressor' });
  const team = { first, second };
  const step = story(t, team);
  for (const page of Object.values(team)) await page.setViewportSize(PHONE);
  const given = (kind) => first.locator(`[data-testid=timeline-row][data-kind=${kind}]`).count();

  await step('one tap shares out the roles that nobody has', async () => {
    await tap(first, 'start-code');
    await tap(first, 'start-adult-now');
    await hands(second, 'compress');
    await tap(first, 'panel-roles');
    await tap(first, 'share-roles');
    await first.locator('[data-testid=screen][data-role=all]').waitFor();
    await second.locator('[data-testid=screen][data-role=all]').waitFor();
    assert.equal(await first.locator('[data-testid=share-roles]').count(), 0);
    await picture(first, '70-small-team-first');
    await picture(second, '70-small-team-second');
    for (const page of Object.values(team)) await page.setViewportSize(PHONE);
  });

  await step('each phone asks for one thing at a time and says for which role', async () => {
    await tap(first, 'panel-record');
    const asked = { first: new Set(), second: new Set() };
    const until_ms = Date.now() + 200_000;
    while (Date.now() < until_ms && (await given('drug_given')) === 0) {
      const rhythm = (await given('shock_delivered')) > 0 ? 'asystole' : 'vf';
      for (const [name, page] of Object.entries(team)) {
        assert.equal(await page.getByTestId('task').count(), 1);
        const action = await follow(page, rhythm);
        if (action) asked[name].add(action);
      }
      await first.waitForTimeout(150);
    }
    for (const kind of ['compressions_stopped', 'pads_attached', 'access_gained', 'rhythm_checked', 'charging_started', 'shock_delivered', 'drug_given']) {
      assert.ok((await given(kind)) > 0, `${kind} is not on the record; asked were ${[...asked.first]} and ${[...asked.second]}`);
    }
    assert.ok(!asked.second.has('give_drug') && !asked.second.has('read_rhythm'));
    await picture(first, '71-small-team-first');
    await picture(second, '71-small-team-second');
  });

  await step('one role of several can be looked at alone', async () => {
    await tap(first, 'role-drugs');
    await first.locator('[data-testid=screen][data-role=drugs]').waitFor();
    await tap(first, 'role-all');
    await first.locator('[data-testid=screen][data-role=all]').waitFor();
    assert.deepEqual(faults(team), []);
  });
});
