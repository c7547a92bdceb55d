//! Seven pages through a whole shockable code, from pairing to closing: at each step what every page concerned says.
//! The server's clock runs faster, so that the minutes between the checks pass in seconds; the pages must follow it.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { allHands, click, faults, hands, pairTeam, picture, press, stage, story, tap, task, type } from './team.js';

// Not faster: hands are clear for 10 s, and a loaded machine takes a picture and two taps within them.
const SPEED = '3';
const stands = stage(SPEED);

test('a whole shockable code on seven pages', { timeout: 360_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, compressor, relief, airway, drugs, defibrillator, recorder } = team;

  await step('two taps start it, and every screen wakes into its role', async () => {
    await tap(leader, 'start-code');
    await picture(leader, '01-start', 'start');
    await tap(leader, 'start-adult-now');
    for (const [role, page] of Object.entries(team)) {
      await page.locator(`[data-testid=screen][data-role=${role}][data-phase=arrest]`).waitFor();
      assert.match(await page.getByTestId('notice').innerText(), /team leader decides.*not yet approved here/s, role);
    }
    await allHands(team, 'compress');
  });

  await step('the first minute: compressions, pads, access', async () => {
    await task(compressor, 'start_compressions', /Start compressions/);
    await press(compressor, 'compressions_started');
    await task(defibrillator, 'attach_pads', /Pads on/);
    await task(drugs, 'gain_access', /access/);
    await task(airway, 'ventilate', /30:2/);
    await press(defibrillator, 'pads_attached');
    await tap(drugs, 'access-iv');
    for (const [role, page] of Object.entries(team)) await picture(page, `02-first-minute-${role}`, role === 'airway' ? 'airway' : undefined);
  });

  await step('the first look: hands off only while somebody looks', async () => {
    await task(compressor, 'pause_for_check', /Stop – change over/);
    await press(compressor, 'compressions_stopped');
    await allHands(team, 'pause');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    assert.match(await leader.getByTestId('pause').innerText(), /\d/, 'the stopwatch of the pause');
    await tap(leader, 'rhythm-vf');
  });

  await step('the first shock: compressions go on through charging, until all clear', async () => {
    // The pads came just now, so that nothing was charged ahead: hands back on the chest, once the look is taken.
    await defibrillator.locator('[data-testid=hands]:not([data-order=pause])').waitFor();
    if ((await defibrillator.getByTestId('hands').getAttribute('data-order')) === 'compress') {
      await press(compressor, 'compressions_started');
      await task(defibrillator, 'charge', /Charge 200 J.*Compressions go on/);
      await press(defibrillator, 'charging_started');
      await allHands(team, 'compress');
      await task(defibrillator, 'call_all_clear', /keep compressing|all clear/i);
    }
    await shock(team, '03-first-shock');
  });

  await step('before the second check each role is told ahead', async () => {
    // One shock is in, so that the first dose is expected after the next: announced and drawn up a minute ahead.
    // The review of causes falls due in the same moment; either may come first.
    const both = { announce: /Announce drug.*Say: .Epinephrine \(adrenaline\) in/, review_causes: /Go through the causes/ };
    const first = await Promise.any(Object.keys(both).map((action) => task(leader, action, both[action]).then(() => action)));
    await press(leader, 'task_done');
    const second = Object.keys(both).find((action) => action !== first);
    await task(leader, second, both[second]);
    await press(leader, 'task_done');
    await task(drugs, 'draw_up', /Draw up Epinephrine \(adrenaline\) 1 mg = 10 mL/i);
    await press(drugs, 'drug_prepared');
    await task(leader, 'announce', /Announce rhythm check.*rhythm check in/);
    await task(relief, 'ready_relief', /chest/);
    await picture(leader, '04-announce-leader', 'leader');
    await press(leader, 'task_done');
    await relief.locator('[data-testid=task], [data-testid=after]').filter({ hasText: /finger on the pulse/i }).first().waitFor();
    await picture(relief, '04-finger-relief', 'relief');
    await tap(relief, 'tap-pulse_finger_placed');
    await option(relief, 'carotid');
    await chargeAhead(team);
    await hands(compressor, 'compress');
    await picture(defibrillator, '05-charged-ahead-defibrillator');
    await task(compressor, 'pause_for_check', /Stop – change over/);
    await picture(compressor, '06-check-compressor', 'compressor');
    await press(compressor, 'compressions_stopped');
    await allHands(team, 'pause');
  });

  await step('a shockable look with a charge ready clears at once; relief takes over', async () => {
    await tap(relief, 'tap-compressor_changed');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    await tap(leader, 'rhythm-vf');
    await allHands(team, 'clear');
    await picture(recorder, '07-clear-recorder', 'recorder');
    // Relief's device has become the compressor's, and the other way round.
    await relief.locator('[data-testid=screen][data-role=compressor]').waitFor();
    await compressor.locator('[data-testid=screen][data-role=relief]').waitFor();
    await shock({ ...team, compressor: relief }, '08-second-shock');
  });

  await step('epinephrine after the second shock: given and counted', async () => {
    await task(drugs, 'give_drug', /Give Epinephrine \(adrenaline\) 1 mg = 10 mL/i);
    await picture(drugs, '09-epinephrine-drugs', 'drugs');
    await press(drugs, 'drug_given');
    await drugs.locator('[data-testid=drugline-epinephrine]').filter({ hasText: /1/ }).waitFor();
    await leader.getByTestId('shocks').filter({ hasText: '2' }).waitFor();
  });

  await step('a pulse at the third look: circulation is back, every arrest prompt goes', async () => {
    await relief.getByText('Stop – change over', { exact: true }).last().waitFor({ timeout: 60_000 });
    await press(relief, 'compressions_stopped');
    await task(leader, 'read_rhythm', /Rhythm\?/);
    await tap(leader, 'rhythm-perfusing');
    await tap(leader, 'pulse-present');
    await task(leader, 'confirm_rosc', /Circulation back\?/);
    await tap(leader, 'rosc-yes');
    await allHands(team, 'idle');
    for (const page of Object.values(team)) {
      const action = await page.getByTestId('task').getAttribute('data-action');
      assert.ok(['', 'aftercare'].includes(action), `after circulation is back: ${action}`);
    }
    for (const role of ['leader', 'recorder']) await picture(team[role], `10-rosc-${role}`, `rosc-${role}`);
  });

  await step('a reading is held against its target: outside in words and shape, then within', async () => {
    await readOxygen(leader, '90');
    await leader.locator('[data-testid=target-oxygen][data-standing=outside]').filter({ hasText: 'OUTSIDE' }).waitFor();
    await airway.locator('[data-testid=task], [data-testid=after]').filter({ hasText: 'Oxygen saturation' }).first().waitFor();
    await picture(leader, '11-aftercare-leader');
    await picture(airway, '11-aftercare-airway');
    await readOxygen(leader, '95');
    await recorder.locator('[data-testid=target-oxygen][data-standing=within]').waitFor();
  });

  await step('the timeline has it all, and the leader closes the code', async () => {
    const rows = recorder.getByTestId('timeline-row');
    for (const [kind, count] of [['charging_started', 2], ['shock_delivered', 2], ['rhythm_checked', 3], ['drug_given', 1], ['rosc', 1]]) {
      await recorder.locator(`[data-testid=timeline-row][data-kind=${kind}]`).nth(count - 1).waitFor();
      assert.equal(await recorder.locator(`[data-testid=timeline-row][data-kind=${kind}]`).count(), count, kind);
    }
    assert.ok((await rows.count()) > 20);
    await tap(leader, 'panel-more');
    await tap(leader, 'outcome-survived_event');
    await tap(leader, 'close-confirm');
    for (const page of Object.values(team)) await page.locator('[data-testid=screen][data-phase=closed]').waitFor();
    assert.deepEqual(faults(team), []);
  });
});

/** An oxygen saturation, entered from its line among the targets. */
async function readOxygen(page, percent) {
  await tap(page, 'target-oxygen-enter');
  await type(page, percent);
  await tap(page, 'option-save');
}

/** An answer to a question on the page, if it asks one. */
async function option(page, value) {
  const button = page.getByTestId(`option-${value}`);
  if (await button.isVisible().catch(() => false)) await click(button);
}

/** From charged to compressing again. */
async function shock(team, name) {
  const { compressor, defibrillator } = team;
  await task(defibrillator, 'call_all_clear', /Call .all clear/);
  await press(defibrillator, 'all_clear_called');
  await allHands(team, 'clear');
  assert.match(await hands(compressor, 'clear'), /nobody touches the patient/);
  // Charged while compressions ran: the compressor lets go now, and its main button says so.
  const kind = await compressor.getByTestId('primary').getAttribute('data-kind');
  if (kind === 'compressions_stopped') await press(compressor, kind);
  await task(defibrillator, 'give_shock', /Shock 200 J/);
  await picture(defibrillator, `${name}-defibrillator`, 'defibrillator');
  await press(defibrillator, 'shock_delivered');
  await allHands(team, 'compress');
  await task(compressor, 'resume_compressions', /Compress again/);
  await press(compressor, 'compressions_started');
}

/** Charging ahead of the check, while compressions run. */
async function chargeAhead(team) {
  await task(team.defibrillator, 'charge_ahead', /Charge 200 J.*Compressions go on/);
  await press(team.defibrillator, 'charging_started');
  await allHands(team, 'compress');
}
