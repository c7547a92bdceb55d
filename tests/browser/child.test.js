//! A child's code under ERC: weight asked and confirmed, doses and energy by it, breaths for a child.
//! Figures: clinical sources P41 (APLS, 2 x years + 8: 14 kg at 3 years), P5 (10 microgram/kg), P2 (4 J/kg), P17 (15:2), P36 (5 initial breaths).
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { allHands, faults, pairTeam, picture, press, says, stage, story, tap, task, type } from './team.js';

/** Slower than the other stories: hands are clear for 10 s only. */
const SPEED = '3';
const stands = stage(SPEED);

test('a child’s code under ERC', { timeout: 300_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, compressor, airway, drugs, defibrillator, recorder } = team;

  await step('a child’s clock starts in three taps, under the protocol chosen', async () => {
    await tap(leader, 'start-code');
    await tap(leader, 'protocol-erc-child');
    await picture(leader, '30-child-start');
    await tap(leader, 'start-child-now');
    for (const [role, page] of Object.entries(team)) {
      await page.locator(`[data-testid=screen][data-role=${role}][data-phase=arrest]`).waitFor();
    }
    assert.match(await leader.getByTestId('notice').innerText(), /child/i);
    for (const role of ['leader', 'drugs', 'defibrillator']) await says(team[role], 'weight', /NO WEIGHT YET/);
    await task(recorder, 'enter_weight', /age and weight/i);
  });

  await step('breaths first, and compressions do not wait for them', async () => {
    await task(airway, 'initial_breaths', /5 breaths first/);
    await task(compressor, 'start_compressions', /Start compressions/);
    await picture(airway, '31-child-breaths-airway');
    await press(airway, 'breaths_given');
    await press(compressor, 'compressions_started');
    await task(airway, 'ventilate', /15:2/);
  });

  await step('before a weight there is a rule and no amount; the age gives an estimate with its formula', async () => {
    await task(leader, 'enter_weight', /age and weight/i);
    await tap(leader, 'age-enter');
    await type(leader, '3');
    await says(leader, 'option-save', /3 years = 36 months/);
    await tap(leader, 'option-save');
    await task(leader, 'enter_weight', /estimate 14 kg.*APLS.*not confirmed/);
    await picture(leader, '32-child-estimate-leader');
    await says(drugs, 'weight', /NO WEIGHT YET/);
    await tap(leader, 'weight-use');
    for (const role of ['leader', 'drugs', 'defibrillator']) await says(team[role], 'weight', /14 kg, estimated/);
  });

  await step('not shockable: epinephrine at once, in mg and mL with the strength', async () => {
    await press(defibrillator, 'pads_attached');
    await tap(drugs, 'access-io');
    await task(compressor, 'pause_for_check', /Stop – change over/);
    await press(compressor, 'compressions_stopped');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    await tap(leader, 'rhythm-asystole');
    await press(compressor, 'compressions_started');
    await task(drugs, 'give_drug', /Give Epinephrine \(adrenaline\) 0\.14 mg = 1\.4 mL \(0\.1 mg\/mL\)/i);
    await picture(drugs, '33-child-epinephrine-drugs');
    await press(drugs, 'drug_given');
    await says(drugs, 'drugline-epinephrine', /×1.*too early until/);
  });

  await step('shockable at the next check: 4 J/kg for 14 kg', async () => {
    // Two minutes between checks are 40 s here.
    await defibrillator.locator('[data-testid=task][data-action=charge_ahead][data-urgency=low]').waitFor({ timeout: 90_000 });
    await task(defibrillator, 'charge_ahead', /Charge 56 J.*4 J\/kg for 14 kg, estimated/);
    await press(defibrillator, 'charging_started');
    await picture(defibrillator, '34-child-charged-defibrillator');
    await task(compressor, 'pause_for_check', /Stop – change over/);
    await press(compressor, 'compressions_stopped');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    await tap(leader, 'rhythm-vf');
    await allHands(team, 'clear');
    await task(defibrillator, 'call_all_clear', /Call .all clear/);
    await press(defibrillator, 'all_clear_called');
    await task(defibrillator, 'give_shock', /Shock 56 J/);
    await press(defibrillator, 'shock_delivered');
    await allHands(team, 'compress');
    await says(leader, 'shocks', /1/);
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
