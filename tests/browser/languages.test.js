//! The language of a device: chosen on it alone, changed while a code runs, kept for the next start.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { pair, stage, tap } from './team.js';

const stands = stage('1');

test('one device changes its language in a running code; the other stays, and nothing is lost', async () => {
  const leader = await pair(stands.browser, stands.server, { name: 'Leader', role: 'leader' });
  const drugs = await pair(stands.browser, stands.server, { name: 'Drugs', role: 'drugs' });
  await tap(leader, 'start-code');
  await tap(leader, 'start-adult-now');
  await drugs.getByTestId('screen').waitFor();
  const before = await drugs.getByTestId('screen').getAttribute('data-code');
  await tap(drugs, 'this-device-fold');
  await tap(drugs, 'language-fr');
  await drugs.waitForFunction(() => document.documentElement.lang === 'fr');
  assert.equal(await drugs.getByTestId('screen').getAttribute('data-code'), before);
  assert.match(await drugs.getByTestId('this-device-rows').innerText(), /Langue/);
  assert.equal(await leader.evaluate(() => document.documentElement.lang), 'en');
  await drugs.reload();
  await drugs.waitForFunction(() => document.documentElement.lang === 'fr');
  await drugs.getByTestId('screen').waitFor();
  assert.deepEqual([...leader.faults, ...drugs.faults], []);
});
