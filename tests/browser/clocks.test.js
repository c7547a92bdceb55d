//! One clock on all pages, and a server that is killed in the middle: at real speed.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { dataFolder, serve } from './server.js';
import { allHands, browse, click, faults, pair, pairTeam, picture, press, story, tap } from './team.js';

/** Correctness, not speed: two pages may never differ by more than this, whatever the machine is busy with. */
const TOGETHER_WITHIN_MS = 100;
let browser, server, data;

before(async () => {
  data = dataFolder();
  browser = await browse();
  server = await serve(data.path);
});
after(async () => {
  await browser?.close();
  await server?.kill();
  data?.remove();
});

/** Seconds that a clock's text stands for. */
function seconds(text) {
  return text.trim().split(':').reduce((sum, part) => sum * 60 + Number(part), 0);
}

/**
 * Watches the displayed clock for a while: for each new text the moment it was first seen, on the machine's own clock,
 * which all pages share.
 */
function flips(page, for_ms) {
  return page.evaluate(async (for_ms) => {
    const seen = [];
    const clock = () => document.querySelector('[data-testid=code-clock]').textContent;
    let last = clock();
    const until = performance.now() + for_ms;
    while (performance.now() < until) {
      await new Promise((resolve) => requestAnimationFrame(resolve));
      // What was drawn for this frame stands from here on.
      await Promise.resolve();
      const text = clock();
      if (text !== last) seen.push([text, performance.timeOrigin + performance.now()]);
      last = text;
    }
    return seen;
  }, for_ms);
}

test('one clock, undo, late facts, and a server killed in the middle', { timeout: 180_000 }, async (t) => {
  const team = await pairTeam(browser, server);
  const { leader, compressor, defibrillator, recorder } = team;
  const step = story(t, team);
  await tap(leader, 'start-code');
  await tap(leader, 'start-adult-now');
  await allHands(team, 'compress');
  await press(compressor, 'compressions_started');

  await step('two pages flip to the same second together', async (t) => {
    const [one, other] = await Promise.all([flips(leader, 6_000), flips(defibrillator, 6_000)]);
    const differences = one.flatMap(([text, at]) => {
      const same = other.find(([second]) => second === text);
      return same ? [Math.abs(same[1] - at)] : [];
    });
    assert.ok(differences.length >= 4, `seconds seen by both: ${differences.length}`);
    const worst = Math.max(...differences);
    t.diagnostic(`two pages show a new second within ${worst.toFixed(1)} ms of each other (worst of ${differences.length})`);
    assert.ok(worst <= TOGETHER_WITHIN_MS, `${worst} ms`);
    for (let at = 1; at < one.length; at += 1) {
      assert.equal(seconds(one[at][0]) - seconds(one[at - 1][0]), 1, 'no second left out, none shown twice');
    }
  });

  await step('a tap is undone within 5 s, as a void on the record', async () => {
    await press(defibrillator, 'pads_attached');
    const row = recorder.locator('[data-testid=timeline-row][data-kind=pads_attached]');
    await row.waitFor();
    await tap(defibrillator, 'undo-button');
    await row.filter({ hasText: /./ }).and(recorder.locator('.voided')).waitFor();
    await defibrillator.locator('[data-testid=task][data-action=attach_pads]').waitFor();
  });

  await step('the recorder enters a late fact with its time and strikes out a wrong one', async () => {
    await tap(recorder, 'late-fact');
    await tap(recorder, 'late-team_called');
    await tap(recorder, 'when-step--10');
    const when = await recorder.getByTestId('when-time').innerText();
    await tap(recorder, 'when-save');
    const row = recorder.locator('[data-testid=timeline-row][data-kind=team_called]');
    await row.waitFor();
    assert.match(await row.innerText(), new RegExp(when.trim()), 'at the time that was entered');
    await picture(recorder, '20-late-fact-recorder');
    await click(row);
    await tap(recorder, 'void');
    await tap(recorder, 'void-did_not_happen');
    await row.and(recorder.locator('.voided')).waitFor();
  });

  await step('the server is killed: pages go on counting, say so, and are back by themselves', async (t) => {
    await server.kill();
    await leader.locator('[data-testid=link][data-up=false]').waitFor();
    const before = seconds(await leader.getByTestId('code-clock').innerText());
    await leader.waitForFunction(
      (before) => document.querySelector('[data-testid=code-clock]').textContent.trim().split(':').reduce((sum, part) => sum * 60 + Number(part), 0) >= before + 4,
      before,
    );
    // Without a server for longer than 3 s no page orders anything by itself.
    await allHands(team, 'unknown');
    await picture(leader, '21-link-lost-leader', 'link-lost');
    // A tap without a link waits, and is not lost.
    await tap(recorder, 'late-fact');
    await tap(recorder, 'late-team_arrived');
    await tap(recorder, 'when-save');
    const shown = seconds(await leader.getByTestId('code-clock').innerText());
    const shownAt = Date.now();

    server = await serve(data.path, new URL(server.address).host);
    const backAt = Date.now();
    await Promise.all(Object.values(team).map((page) => page.locator('[data-testid=link][data-up=true]').waitFor()));
    const took = Date.now() - backAt;
    t.diagnostic(`seven pages were back ${took} ms after the server said that it listens`);
    assert.ok(took < 2_000, `${took} ms`);
    await allHands(team, 'compress');
    const now = seconds(await leader.getByTestId('code-clock').innerText());
    const passed = (Date.now() - shownAt) / 1_000;
    assert.ok(Math.abs(now - shown - passed) < 1.5, `code time went on: ${now - shown} s in ${passed} s`);
    const late = recorder.locator('[data-testid=timeline-row][data-kind=team_arrived]');
    await late.waitFor();
    assert.equal(await late.count(), 1);
  });

  await step('devices stay paired when both sides start anew', async () => {
    await server.kill();
    server = await serve(data.path, new URL(server.address).host);
    await leader.reload();
    await leader.locator('[data-testid=screen][data-role=leader]').waitFor();
    await leader.waitForFunction(
      () => document.querySelector('[data-testid=code-clock]').textContent.trim().split(':').reduce((sum, part) => sum * 60 + Number(part), 0) > 10,
    );
    const newcomer = await pair(browser, server, { name: 'Trolley', location: 'Bay 1' });
    await newcomer.locator('[data-testid=running-code], [data-testid=screen]').first().waitFor();
    assert.deepEqual(faults(team), []);
  });
});
