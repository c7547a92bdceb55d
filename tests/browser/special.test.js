//! Special circumstances on the screens: hypothermia under ERC, known at the start, and pregnancy, found during the code.
//! Figures: clinical sources S10 (drugs withheld below 30 degrees), S12 (doubled interval from 30 to 35), S1 to S4 (pregnancy).
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { faults, pairTeam, picture, press, says, stage, story, tap, task, type } from './team.js';

const stands = stage('3');

/** A core temperature, entered by the leader. */
async function temperature(leader, degrees) {
  await tap(leader, 'panel-patient');
  await tap(leader, 'open-temperature');
  await type(leader, degrees);
  await tap(leader, 'option-save');
  await tap(leader, 'option-core');
}

test('a cold patient under ERC, then a pregnancy', { timeout: 300_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, compressor, drugs, defibrillator } = team;

  await step('known at the start: the chip stands on the screens from the first second', async () => {
    await tap(leader, 'start-code');
    await tap(leader, 'protocol-erc-adult');
    await tap(leader, 'circumstance-hypothermia');
    await picture(leader, '40-cold-start');
    await tap(leader, 'start-adult-now');
    for (const [role, page] of Object.entries(team)) {
      await page.locator(`[data-testid=screen][data-role=${role}][data-phase=arrest]`).waitFor();
    }
    for (const role of ['leader', 'drugs', 'defibrillator']) await says(team[role], 'set-hypothermia', /Hypothermia/);
  });

  await step('below 30 degrees: drugs withheld, said in words, and nothing is asked', async () => {
    await press(compressor, 'compressions_started');
    await press(defibrillator, 'pads_attached');
    await tap(drugs, 'access-iv');
    await temperature(leader, '28.4');
    await says(leader, 'core-temp', /core 28\.4 °C/);
    await drugs.locator('[data-testid=drugline-epinephrine][data-withheld=true]').waitFor();
    await drugs.locator('[data-testid=note-open][data-kind=withheld]').first().waitFor();
    await task(compressor, 'pause_for_check', /Stop – change over/);
    await press(compressor, 'compressions_stopped');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    await tap(leader, 'rhythm-asystole');
    await press(compressor, 'compressions_started');
    await says(drugs, 'drugline-epinephrine', /WITHHELD/);
    assert.notEqual(await drugs.getByTestId('task').getAttribute('data-action'), 'give_drug');
    await picture(drugs, '41-cold-drugs');
    await tap(leader, 'panel-picture');
    await picture(leader, '41-cold-leader');
  });

  await step('warmer than 30 degrees: the plan changes at once', async () => {
    await temperature(leader, '31');
    await task(drugs, 'give_drug', /Give Epinephrine \(adrenaline\) 1 mg = 10 mL/i);
    await drugs.locator('[data-testid=drugline-epinephrine][data-withheld=false]').waitFor();
    await picture(drugs, '42-warmer-drugs');
    await press(drugs, 'drug_given');
    await says(drugs, 'drugline-epinephrine', /×1.*too early until/);
  });

  await step('pregnancy set in two taps, with its tasks; cleared in two', async () => {
    await tap(leader, 'panel-patient');
    await tap(leader, 'circumstance-pregnancy');
    await says(leader, 'set-pregnancy', /Pregnancy/);
    const asked = Object.values(team).map((page) =>
      page.locator('[data-testid=task][data-action=special_care], [data-testid=after]').filter({ hasText: /uterus|deliver/i }).first().waitFor());
    await Promise.any(asked);
    await tap(leader, 'panel-picture');
    for (const role of ['leader', 'airway', 'relief', 'recorder']) await picture(team[role], `43-pregnancy-${role}`);
    await tap(leader, 'panel-patient');
    await tap(leader, 'circumstance-pregnancy');
    await leader.getByTestId('set-pregnancy').waitFor({ state: 'detached' });
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
