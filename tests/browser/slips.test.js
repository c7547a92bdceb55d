//! What tired hands do: a tap too many, a tap too late, a brush over the button that ends it, water on the glass. Nothing is lost,
//! and nothing happens that nobody meant.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { faults, HELD_MS, hands, pairTeam, picture, press, stage, story, tap } from './team.js';

const stands = stage('4');

/** The kinds on the leader's record, in order. */
async function recorded(recorder) {
  return recorder.getByTestId('timeline-row').evaluateAll((rows) => rows.map((row) => row.dataset.kind));
}
const count = (kinds, kind) => kinds.filter((one) => one === kind).length;

test('hands slip, and the record does not', { timeout: 300_000 }, async (t) => {
  const team = await pairTeam(stands.browser, stands.server);
  const step = story(t, team);
  const { leader, compressor, defibrillator, recorder } = team;
  const kinds = () => recorded(recorder);

  await step('a double tap is one', async () => {
    await tap(leader, 'start-code');
    await tap(leader, 'start-adult-now');
    await press(compressor, 'compressions_started');
    await hands(recorder, 'compress');
    await tap(defibrillator, 'tap-pads_attached');
    await defibrillator.getByTestId('option-anterolateral').dblclick();
    await recorder.locator('[data-testid=timeline-row][data-kind=pads_attached]').waitFor();
    await compressor.getByTestId('tap-compressor_changed').dblclick();
    await recorder.locator('[data-testid=timeline-row][data-kind=compressor_changed]').waitFor();
    await tap(recorder, 'panel-record');
    assert.equal(count(await kinds(), 'pads_attached'), 1);
    assert.equal(count(await kinds(), 'circumstance_set'), 0, 'the second half fell on the button that came up under it');
    assert.equal(count(await kinds(), 'compressor_changed'), 1);
  });

  await step('a stop that nobody tapped is caught up with in one tap', async () => {
    const late = recorder.locator('[data-testid=catch-up]:enabled');
    await late.waitFor();
    await picture(recorder, '60-catch-up');
    await late.click();
    await compressor.locator('[data-testid=hands]').getByText(/no compressions/).waitFor();
    const entry = recorder.locator('[data-testid=timeline-row][data-kind=compressions_stopped]');
    await entry.waitFor();
    assert.match(await entry.innerText(), /late/);
    await press(recorder, 'compressions_started');
  });

  await step('a tap is taken back within five seconds', async () => {
    await tap(defibrillator, 'tap-charging_started');
    await tap(defibrillator, 'undo-button');
    await recorder.locator('[data-testid=timeline-row][data-kind=charging_started].voided').waitFor();
  });

  await step('a brush over the button of a shock does nothing and says what to do; holding it records', async () => {
    const shock = defibrillator.getByTestId('tap-shock_delivered');
    await shock.click({ delay: 100 });
    await shock.getByText('longer: hold until full').waitFor();
    await picture(defibrillator, '61-held-too-short');
    assert.equal(count(await kinds(), 'shock_delivered'), 0);
    await shock.click({ delay: HELD_MS });
    await recorder.locator('[data-testid=timeline-row][data-kind=shock_delivered]').waitFor();
  });

  await step('return of circulation by the keyboard, which holds the key; the end by a switch, which presses twice', async () => {
    await tap(leader, 'panel-more');
    await leader.getByTestId('tap-rosc').focus();
    await leader.keyboard.press('Enter');
    assert.equal(count(await kinds(), 'rosc'), 0);
    await leader.keyboard.press('Enter', { delay: HELD_MS });
    await recorder.locator('[data-testid=timeline-row][data-kind=rosc]').waitFor();
    await tap(leader, 'outcome-survived_event');
    const end = leader.getByTestId('close-confirm');
    await end.evaluate((button) => button.click());
    await end.getByText('press again to record').waitFor();
    assert.equal(await leader.locator('[data-testid=screen][data-phase=closed]').count(), 0);
    await end.evaluate((button) => button.click());
    await leader.locator('[data-testid=screen][data-phase=closed]').waitFor();
  });

  await step('no page has thrown', () => assert.deepEqual(faults(team), []));
});

test('water and palms are no fingers', { timeout: 120_000 }, async (t) => {
  const team = { leader: (await pairTeam(stands.browser, stands.server, 'Bay 2')).leader };
  const step = story(t, team);
  const { leader } = team;
  await step('a wide contact, and one among many, press nothing; a finger does', async () => {
    const devtools = await leader.context().newCDPSession(leader);
    const start = leader.getByTestId('start-code');
    const box = await start.boundingBox();
    const at = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    const touch = async (points) => {
      await devtools.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: points });
      await devtools.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
    };
    await devtools.send('Emulation.setTouchEmulationEnabled', { enabled: true, maxTouchPoints: 10 });
    await touch([{ ...at, radiusX: 90, radiusY: 90, id: 1 }]);
    await leader.waitForTimeout(500);
    assert.equal(await leader.getByTestId('start-adult-now').count(), 0, 'a palm pressed the button');
    await touch([{ ...at, radiusX: 20, radiusY: 20, id: 2 }]);
    await leader.getByTestId('start-adult-now').waitFor();
  });
});
