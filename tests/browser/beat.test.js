//! The beat on several pages, each a device of its own: in phase, even, silent in a pause, and silent at one tap.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { allHands, faults, pair, press, stage, tap } from './team.js';

/** What the issue demands of two pages on one machine. The middle of many beats is held against it: a busy machine delays single
 * readings of a clock, and never all of them. */
const TOGETHER_WITHIN_MS = 10;
const PERIOD_MS = 60_000 / 110;
const BEATS = 24;
/** Long enough for several beats, had there been any. */
const SILENCE_MS = 2_000;
const stands = stage('1');

/** The beats that a page gave since the last call, on the machine's own clock, which all pages share. */
const beats = (page) => page.evaluate(() => {
  const given = window.coxswainBeats ?? [];
  window.coxswainBeats = [];
  return given.map((beat) => ({ number: beat.number, due_ms: performance.timeOrigin + beat.running_ms, heard_ms: performance.timeOrigin + beat.heard_ms }));
});
const enough = (page, count) => page.waitForFunction((count) => (window.coxswainBeats ?? []).length >= count, count);
const sounds = (page, state) => page.locator(`[data-testid=sound][data-state=${state}]`).waitFor();
const middle = (all) => [...all].sort((one, other) => one - other)[Math.floor(all.length / 2)];

/** For each beat that both pages gave, how far apart they are. */
function apart(one, other, of) {
  const same = one.flatMap((beat) => other.filter((match) => match.number === beat.number).map((match) => match[of] - beat[of]));
  assert.ok(same.length >= BEATS / 2, `beats in common: ${same.length}`);
  return same;
}

test('the beat of two tablets is one, stops in a pause, and is silent at a tap', { timeout: 180_000 }, async (t) => {
  const { browser, server } = stands;
  const leader = await pair(browser, server, { name: 'Lead', role: 'leader' });
  const compressor = await pair(browser, server, { name: 'Chest', role: 'compressor' });
  const room = await pair(browser, server, { name: 'Wall', role: 'recorder' });
  const team = { leader, compressor, room };
  await tap(leader, 'start-code');
  await tap(leader, 'start-adult-now');
  await allHands(team, 'compress');

  // Nobody has touched this page since it was loaded: it says so, and one tap lets it sound.
  await compressor.reload();
  await sounds(compressor, 'untouched');
  assert.equal(await room.getByTestId('sound').count(), 0, 'a device without a sound of its own has no button for it');
  // Any device can be the one that the room hears.
  await tap(room, 'this-device-fold');
  await tap(room, 'sound-beat-on');
  await sounds(room, 'on');

  await press(compressor, 'compressions_started');
  await sounds(compressor, 'on');
  await Promise.all([beats(compressor), beats(room)]);
  await Promise.all([enough(compressor, BEATS), enough(room, BEATS)]);
  const [one, other] = await Promise.all([beats(compressor), beats(room)]);
  const given = apart(one, other, 'due_ms');
  const heard = apart(one, other, 'heard_ms');
  const size = (all) => all.map(Math.abs);
  t.diagnostic(`two pages sound ${middle(size(heard)).toFixed(2)} ms apart (middle of ${heard.length} beats; worst ${Math.max(...size(heard)).toFixed(2)} ms; as scheduled ${middle(size(given)).toFixed(2)} ms)`);
  assert.ok(middle(size(heard)) < TOGETHER_WITHIN_MS, `${middle(size(heard))} ms`);
  for (const page of [one, other]) {
    for (let at = 1; at < page.length; at += 1) {
      assert.equal(page[at].number - page[at - 1].number, 1, 'none doubled, none missing');
      // By as much as a correction of the clock may bend it.
      assert.ok(Math.abs(page[at].due_ms - page[at - 1].due_ms - PERIOD_MS) < PERIOD_MS * 0.041, `${page[at].due_ms - page[at - 1].due_ms} ms`);
    }
  }

  // A pause that is on the record: what was scheduled for later is called off, and nothing new comes.
  await press(compressor, 'compressions_stopped');
  await allHands(team, 'pause');
  await Promise.all([beats(compressor), beats(room)]);
  await compressor.waitForTimeout(SILENCE_MS);
  assert.deepEqual([await beats(compressor), await beats(room)], [[], []], 'no beat in a pause');
  assert.equal(await compressor.getByTestId('beat').count(), 0);

  await press(compressor, 'compressions_started');
  await enough(compressor, 3);
  await tap(compressor, 'sound');
  await sounds(compressor, 'silent');
  await beats(compressor);
  await compressor.waitForTimeout(SILENCE_MS);
  assert.deepEqual(await beats(compressor), [], 'silent at one tap');
  assert.equal(await compressor.getByTestId('beat').count(), 1, 'the beat is still seen');
  await tap(compressor, 'sound');
  await enough(compressor, 3);
  await sounds(compressor, 'on');
  assert.deepEqual(faults(team), []);
});
