//! What a team answers otherwise than by the main button: a task of a circumstance decided against, a drug without a line
//! with its own unit and route, a target of aftercare, and roles taken over at the place that the patient was moved to.
import assert from 'node:assert/strict';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { close, play, SCENES, shown } from './scenes.js';
import { faults, hands, pair, pairTeam, picture, press, says, stage, story, tap, task, type } from './team.js';

/** A department's own protocol: two targets of aftercare that no screen knows by name. */
function ownProtocol(data) {
  const text = readFileSync(new URL('../../server/protocols/erc-adult.toml', import.meta.url), 'utf8').replace(/^id = "erc-adult"/m, 'id = "our-adult"');
  const lines = `
[[aftercare]]
id = "bundle_7"
title = "Our bundle"
role = "recorder"
target = { value = "as our card says", source = "made up for this test", basis = "practice" }
due_s = { value = 60, source = "made up for this test", basis = "practice" }

[[aftercare]]
id = "lactate"
title = "Lactate"
role = "airway"
target = { value = "as our card says", source = "made up for this test", basis = "practice" }
due_s = { value = 60, source = "made up for this test", basis = "practice" }
reading = "lactate_mmol_l"
ranges = { lactate_mmol_l = { high = { value = 2, source = "made up for this test", basis = "practice", unusual = "made up for this test" } } }
`;
  mkdirSync(join(data, 'protocols'), { recursive: true });
  writeFileSync(join(data, 'protocols/our-adult.toml'), text.replace('[[aftercare]]', `${lines}\n[[aftercare]]`));
}

const stands = stage('1', ownProtocol);
const scene = (name) => SCENES.find((one) => one.name === name);

/** Waits until the lines below the main task, and the main task, no longer say what fits `words`. */
const gone = (page, words) => page.waitForFunction(([pattern]) =>
  [...document.querySelectorAll('[data-testid=task], [data-testid=after]')].every((one) => !new RegExp(pattern).test(one.innerText)), [words.source]);

test('answers of other kinds', { timeout: 240_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, drugs, compressor, recorder } = team;
  let code;

  await step('a circumstance’s task decided against: it goes, and no cause is said to be treated', async () => {
    code = await play(leader, scene('trauma'));
    await shown([leader, drugs], code);
    await task(leader, 'special_care', /Decompress the chest/);
    await says(leader, 'primary', /Cause treated: Tension pneumothorax/);
    await says(leader, 'special-against', /Decided against/);
    await picture(leader, '50-decided-against');
    await tap(leader, 'special-against');
    await task(leader, 'special_care', /Tamponade/);
    await press(leader, 'cause_treated');
    await gone(leader, /Decompress|Tamponade/);
    await tap(leader, 'panel-causes');
    await leader.locator('[data-testid=treated-tamponade][aria-pressed=true]').waitFor();
    assert.equal(await leader.getByTestId('treated-tension_pneumothorax').getAttribute('aria-pressed'), 'false');
    await tap(leader, 'panel-picture');
    await close(leader, code);
  });

  await step('a drug before there is a line: the unit is asked for, then the route', async () => {
    code = await play(leader, scene('opioid'));
    await shown([drugs], code);
    await says(drugs, 'after', /Naloxone/);
    await tap(drugs, 'tap-drug_given');
    await tap(drugs, 'option-naloxone');
    await says(drugs, 'sheet', /dose and route .*local protocol/);
    await says(drugs, 'option-save', /choose the unit/);
    assert.equal(await drugs.getByTestId('option-save').isDisabled(), true, 'no dose without a unit');
    await picture(drugs, '51-dose-unit');
    await tap(drugs, 'unit-0');
    await type(drugs, '400');
    await says(drugs, 'option-save', /^Confirm 400 mg$/);
    await tap(drugs, 'unit-other');
    await tap(drugs, 'unit-1');
    await says(drugs, 'option-save', /type the number microgram/);
    await type(drugs, '400');
    await picture(drugs, '51-dose-typed');
    await says(drugs, 'option-save', /^Confirm 400 microgram$/);
    await tap(drugs, 'option-save');
    await tap(drugs, 'option-intranasal');
    await gone(drugs, /Naloxone/);
    await recorder.getByText(/Given: Naloxone 400\smicrogram Nasal/).first().waitFor();
    await close(leader, code);
  });

  await step('what a task asks for is one tap, in its own unit', async () => {
    code = await play(leader, scene('hyperkalaemia-no-line'));
    await shown([drugs], code);
    await tap(drugs, 'tap-drug_given');
    await tap(drugs, 'option-calcium_chloride');
    await says(drugs, 'option-asked', /As asked: 10 mL/);
    await tap(drugs, 'option-asked');
    await tap(drugs, 'option-iv');
    await recorder.getByText(/Given: Calcium chloride 10\smL IV/).first().waitFor();
    await close(leader, code);
  });

  await step('a syringe drawn up for another weight is not ready, and both amounts are said', async () => {
    code = await play(leader, scene('syringe'));
    await shown([drugs], code);
    await task(drugs, 'give_drug', /Check: drawn up: 0\.3 mg; asked for now: 0\.13 mg 0\.13 mg = 1\.3 mL/);
    await picture(drugs, '56-syringe');
    await close(leader, code);
  });

  await step('death declared: the leader is asked to close the code, or says that it goes on', async () => {
    code = await play(leader, scene('death'));
    await shown([leader, compressor], code);
    await task(leader, 'close_code', /Close the code/);
    await picture(leader, '57-death-declared');
    await hands(compressor, 'compress');
    await tap(leader, 'close-open');
    await leader.getByTestId('outcome-died').waitFor();
    await tap(leader, 'close-not');
    await leader.locator('[data-testid=task]:not([data-action=close_code])').waitFor();
    await tap(leader, 'panel-picture');
    await close(leader, code);
  });

  await step('a reading outside its target, then within', async () => {
    code = await play(leader, scene('aftercare'));
    await shown([leader, team.airway], code);
    await leader.locator('[data-testid=target-oxygen][data-standing=outside]').waitFor();
    await task(team.airway, 'aftercare', /Oxygen saturation.*Check: SpO2 99 %: above 94 to 98/);
    await tap(team.airway, 'primary');
    await type(team.airway, '96');
    await tap(team.airway, 'option-save');
    await leader.locator('[data-testid=target-oxygen][data-standing=within]').waitFor();
    await close(leader, code);
  });

  await step('targets of a department’s own: shown with their words, read or ticked', async () => {
    code = await play(leader, { ...scene('aftercare-open'), protocol: 'our-adult' });
    await shown([leader, recorder, team.airway], code);
    await task(recorder, 'aftercare', /Our bundle.*as our card says/);
    await says(recorder, 'target-bundle_7', /Our bundle.*as our card says.*open/);
    await picture(recorder, '55-own-target');
    await tap(recorder, 'aftercare-done');
    await leader.locator('[data-testid=target-bundle_7][data-standing=read]').waitFor();
    await tap(leader, 'target-lactate-enter');
    await type(leader, '3.1');
    await tap(leader, 'option-save');
    await leader.locator('[data-testid=target-lactate][data-standing=outside]').waitFor();
    await says(leader, 'target-lactate', /lactate 3.1 mmol\/L OUTSIDE/);
    await task(team.airway, 'aftercare', /Lactate.*above 2/);
    await close(leader, code);
  });

  await step('moved: the old place says so, the new one takes the roles over in three taps', async () => {
    code = await play(leader, scene('early'));
    await shown(Object.values(team), code);
    const unit = { leader: null, drugs: null };
    for (const role of Object.keys(unit)) unit[role] = await pair(stands.browser, stands.server, { name: `ICU ${role}`, location: 'ICU 3', role });
    await tap(leader, 'panel-more');
    await tap(leader, 'tap-moved');
    await leader.getByTestId('option-text').fill('ICU 3');
    await tap(leader, 'option-save');
    await shown(Object.values(unit), code);
    for (const page of [leader, drugs, compressor]) await says(page, 'elsewhere', /patient at ICU 3/);
    assert.equal(await unit.drugs.getByTestId('elsewhere').count(), 0);
    assert.match(await hands(compressor, 'compress'), /COMPRESS/, 'nothing stops by moving');
    await picture(compressor, '52-moved-old-place');
    await task(unit.leader, 'confirm_roles', /Moved: confirm the roles/);
    await tap(unit.leader, 'roles-change');
    await says(unit.leader, 'handover-all', /2 devices/);
    await tap(unit.leader, 'handover-all');
    await says(unit.leader, 'handover', /Bay 1 leader \(Leader\).*Bay 1 drugs \(Drugs\)/);
    await picture(unit.leader, '53-handover');
    await tap(unit.leader, 'handover-confirm');
    for (const page of [leader, drugs]) await page.locator('[data-testid=screen][data-role=""]').waitFor();
    await tap(unit.leader, 'roles-right');
    await unit.leader.locator('[data-testid=task]:not([data-action=confirm_roles])').waitFor();
    await picture(drugs, '54-moved-no-role');
    // A device whose role nobody took over keeps it until somebody there leaves with it.
    await says(compressor, 'leave-code', /stays at Bay 1/);
    await tap(compressor, 'leave-code');
    await tap(compressor, 'leave-confirm');
    await compressor.getByTestId('home').waitFor();
    assert.deepEqual(faults(unit), []);
  });

  await step('nothing went wrong on any page', () => assert.deepEqual(faults(team), []));
});
