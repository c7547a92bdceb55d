//! The language of a device: chosen on it alone, changed while a code runs, kept for the next start; and no language's words
//! are cut, covered or run over the edge.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { cutOff } from './audit.js';
import { close, play, SCENES, shown } from './scenes.js';
import { faults, pair, pairTeam, PHONE, picture, says, settled, speak, stage, TABLET, tap } from './team.js';

const stands = stage('1');
const scene = (name) => SCENES.find((one) => one.name === name);
const lang = (page) => page.evaluate(() => document.documentElement.lang);

test('one device changes its language in a running code; the other stays, and nothing is lost', async () => {
  const place = { location: 'Bay 9' };
  const leader = await pair(stands.browser, stands.server, { name: 'Bay 9 leader', role: 'leader', ...place });
  const drugs = await pair(stands.browser, stands.server, { name: 'Bay 9 drugs', role: 'drugs', ...place });
  const code = await play(leader, scene('child-weight'), 'Bay 9');
  await shown([leader, drugs], code);
  await says(drugs, 'task', /0\.17 mg = 1\.7 mL \(0\.1 mg\/mL\)/);
  await tap(drugs, 'this-device-fold');
  await tap(drugs, 'language-fr');
  await drugs.waitForFunction(() => document.documentElement.lang === 'fr');
  // The same code and task, at once, in the language's words and numbers; the sentence that the server composed too.
  assert.equal(await drugs.getByTestId('screen').getAttribute('data-code'), code);
  await says(drugs, 'task', /Adrénaline .*0,17 mg = 1,7 mL \(0,1 mg\/mL\).*0,01 mg\/kg pour 17 kg mesurés/);
  assert.match(await drugs.getByTestId('this-device-rows').innerText(), /Langue/);
  await says(drugs, 'notice', /ACR de l’enfant ou du nourrisson \(AHA\)/);
  assert.equal(await lang(leader), 'en');
  await says(leader, 'notice', /Cardiac arrest of a child or infant/);
  await drugs.reload();
  await drugs.waitForFunction(() => document.documentElement.lang === 'fr');
  await shown([drugs], code);
  await close(leader, code);
  assert.deepEqual([...leader.faults, ...drugs.faults], []);
  await leader.context().close();
  await drugs.context().close();
});

test('words are whole in every language, on a phone and on a tablet', { timeout: 300_000 }, async () => {
  const team = await pairTeam(stands.browser, stands.server);
  const roles = ['leader', 'drugs', 'compressor'];
  const found = [];
  for (const language of ['es', 'fr', 'pt']) {
    for (const role of roles) await speak(team[role], language);
    for (const name of ['child-doubt', 'clear', 'overdue', 'trauma-anaphylaxis', 'late']) {
      const code = await play(team.leader, scene(name));
      await shown(roles.map((role) => team[role]), code);
      for (const role of roles) {
        for (const size of [PHONE, TABLET]) {
          await team[role].setViewportSize(size);
          await team[role].waitForTimeout(60);
          await settled(team[role]);
          found.push(...(await cutOff(team[role])).map((one) => `${language} ${name} ${role} ${size.width}: ${one}`));
        }
        await picture(team[role], `${language}-${name}-${role}`);
      }
      await close(team.leader, code);
    }
  }
  assert.deepEqual(found, []);
  assert.deepEqual(faults(team), []);
});
