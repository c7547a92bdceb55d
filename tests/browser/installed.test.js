//! The page without its server: it starts, shows what was last known as old, keeps what is tapped, and takes a new build only
//! between codes. A small relay stands before the server, so that the address stays while servers come and go.
import assert from 'node:assert/strict';
import { createServer, request } from 'node:http';
import { connect } from 'node:net';
import { after, before, test } from 'node:test';
import { dataFolder, serve } from './server.js';
import { browse, faults, hands, pair, PATIENCE_MS, press, tap } from './team.js';

const stands = {};

/** Passes all on to the server, and can be cut. `build` changes what it hands out as the service worker, as another build would. */
async function relay() {
  const sockets = new Set();
  const state = { to: '', build: '' };
  const server = createServer((asked, answer) => {
    const { hostname, port } = new URL(state.to);
    const onward = request({ hostname, port, path: asked.url, method: asked.method, headers: { ...asked.headers, connection: 'close' } }, (got) => {
      if (asked.url !== '/sw.js' || state.build === '') {
        answer.writeHead(got.statusCode, got.headers);
        got.pipe(answer);
        return;
      }
      let text = '';
      got.setEncoding('utf8').on('data', (part) => (text += part)).on('end', () => {
        const headers = { ...got.headers };
        delete headers['content-length'];
        delete headers['transfer-encoding'];
        answer.writeHead(200, headers);
        answer.end(text.replace(/BUILD = '\w+'/, `BUILD = '${state.build}'`));
      });
    });
    onward.on('error', () => answer.destroy());
    asked.pipe(onward);
  });
  server.on('connection', (socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket)).on('error', () => undefined);
  });
  server.on('upgrade', (asked, socket, head) => {
    const { hostname, port } = new URL(state.to);
    const onward = connect(Number(port), hostname, () => {
      const lines = Object.entries(asked.headers).map(([name, value]) => `${name}: ${value}`);
      onward.write(`${asked.method} ${asked.url} HTTP/1.1\r\n${lines.join('\r\n')}\r\n\r\n`);
      onward.write(head);
      onward.pipe(socket).pipe(onward);
    });
    for (const one of [onward, socket]) one.on('error', () => undefined).on('close', () => (onward.destroy(), socket.destroy()));
  });
  let port = 0;
  const listen = () => new Promise((resolve) => server.listen(port, '127.0.0.1', resolve));
  await listen();
  port = server.address().port;
  return {
    state,
    address: `http://127.0.0.1:${port}`,
    cut: () => new Promise((resolve) => {
      server.close(resolve);
      sockets.forEach((socket) => socket.destroy());
    }),
    restore: listen,
  };
}

before(async () => {
  stands.data = dataFolder();
  stands.browser = await browse();
  stands.server = await serve(stands.data.path);
  stands.relay = await relay();
  stands.relay.state.to = stands.server.address;
});
after(async () => {
  await stands.browser?.close();
  await stands.relay?.cut().catch(() => undefined);
  await stands.server?.kill();
  stands.data?.remove();
});

/** The builds whose files are kept, and what the page notes of them. */
const builds = (page) => page.evaluate(async () => {
  const notes = await caches.open('coxswain notes');
  const noted = async (name) => (await notes.match(name))?.text();
  const kept = (await caches.keys()).filter((name) => name.startsWith('coxswain build ')).map((name) => name.slice('coxswain build '.length));
  return { kept: kept.sort(), inUse: await noted('/in-use'), newest: await noted('/newest') };
});
/** Waits until the builds are as wanted. A page that reloads meanwhile is asked again. */
async function until(page, wanted) {
  const deadline = Date.now() + PATIENCE_MS;
  for (;;) {
    const found = await builds(page).catch(() => null);
    if (found && wanted(found)) return found;
    assert.ok(Date.now() < deadline, JSON.stringify(found));
    await page.waitForTimeout(200);
  }
}
const state = (page, wanted) => page.locator(`[data-testid=offline][data-state=${wanted}]`).waitFor();
const seconds = (text) => text.trim().split(':').reduce((sum, part) => sum * 60 + Number(part), 0);

test('without a server the page starts with what was last known, as old, and keeps taps; a new build waits for the end of the code', { timeout: 240_000 }, async (t) => {
  const { relay } = stands;
  const page = await pair(stands.browser, { address: relay.address, code: stands.server.code }, { name: 'Lead', role: 'leader' });
  await tap(page, 'settings');
  await state(page, 'ready');
  const first = await builds(page);
  assert.deepEqual([first.kept, first.newest], [[first.inUse], first.inUse]);
  await page.goto(relay.address);
  await tap(page, 'start-code');
  await tap(page, 'start-adult-now');
  await hands(page, 'compress');
  await press(page, 'compressions_started');
  await page.locator('[data-testid=hands]', { hasText: /./ }).waitFor();
  const shown = await page.evaluate(() => document.querySelector('[data-testid=code-clock]').textContent);

  await t.test('the server is gone, and the page is loaded anew', async () => {
    await page.waitForFunction(() => JSON.parse(localStorage.getItem('coxswain.last') ?? '{}').view?.hands.observed.compressing === true);
    await stands.server.kill();
    await relay.cut();
    await page.reload();
    const words = await hands(page, 'unknown');
    assert.match(words, /ago/i, words);
    assert.equal(await page.locator('[data-testid=screen][data-role=leader][data-phase=arrest]').count(), 1);
    assert.equal(await page.locator('[data-testid=link][data-up=false]').count(), 1);
    const now = await page.evaluate(() => document.querySelector('[data-testid=code-clock]').textContent);
    assert.ok(seconds(now) >= seconds(shown), `${now} after ${shown}: the clock of the code went on`);
    // Nothing of the server was kept but what the page itself kept.
    const cached = await page.evaluate(async () => {
      const all = await Promise.all((await caches.keys()).map(async (name) => (await (await caches.open(name)).keys()).map((one) => new URL(one.url).pathname)));
      return all.flat();
    });
    assert.ok(cached.includes('/') && cached.every((path) => path === '/' || /^\/(assets\/|icon|manifest|in-use$|newest$)/.test(path)), cached.join(' '));
    // A tap waits, also through another reload.
    await page.getByTestId('tap-compressor_changed').click();
    await page.reload();
    await hands(page, 'unknown');
    assert.equal(await page.evaluate(() => JSON.parse(localStorage.getItem('coxswain.taps')).length), 1);
  });

  await t.test('it is back with another build: the tap is sent, the new build waits', async () => {
    stands.server = await serve(stands.data.path);
    relay.state.to = stands.server.address;
    relay.state.build = 'another';
    await relay.restore();
    await hands(page, 'compress');
    await page.waitForFunction(() => JSON.parse(localStorage.getItem('coxswain.taps')).length === 0);
    await page.getByTestId('panel-record').click();
    await page.locator('[data-testid=timeline-row][data-kind=compressor_changed]').waitFor();
    await until(page, ({ newest }) => newest === 'another');
    // Also when the page is loaded anew in the code, and again: it is still the build that the code began with.
    for (let index = 0; index < 2; index += 1) {
      await page.reload();
      await hands(page, 'compress');
    }
    assert.deepEqual(await builds(page), { kept: [first.inUse, 'another'].sort(), inUse: first.inUse, newest: 'another' });
    await tap(page, 'this-device-fold');
    await page.locator('[data-testid=offline][data-waiting=true]').waitFor();
  });

  await t.test('the code is closed: the new build is taken on the start page', async () => {
    await page.getByTestId('panel-more').click();
    await page.getByTestId('outcome-survived_event').click();
    await tap(page, 'close-confirm');
    await tap(page, 'leave');
    await page.getByTestId('home').waitFor();
    const taken = await until(page, ({ inUse }) => inUse === 'another');
    assert.equal(taken.newest, 'another');
    await until(page, ({ kept }) => kept.join() === 'another');
    await page.getByTestId('home').waitFor();
    assert.deepEqual(faults({ page }), []);
  });
});

test('the leader sees which tablet is running out', { timeout: 120_000 }, async () => {
  const server = { address: stands.relay.address, code: stands.server.code };
  const leader = await pair(stands.browser, server, { name: 'Lead 2', location: 'Bay 2', role: 'leader' });
  const drugs = await pair(stands.browser, server, { name: 'Trolley', location: 'Bay 2', role: 'drugs' });
  // A battery of our own making: the machine that tests has none.
  await drugs.addInitScript(() => {
    const battery = Object.assign(new EventTarget(), { level: 0.17, charging: false });
    window.battery = battery;
    navigator.getBattery = async () => battery;
  });
  await drugs.reload();
  await drugs.getByTestId('home').waitFor();
  await tap(leader, 'start-code');
  await tap(leader, 'start-adult-now');
  const low = leader.getByTestId('battery-low');
  await low.waitFor();
  assert.match(await low.innerText(), /Trolley, 17/);
  await drugs.waitForTimeout(1_100);
  await drugs.evaluate(() => {
    window.battery.charging = true;
    window.battery.dispatchEvent(new Event('chargingchange'));
  });
  await low.waitFor({ state: 'detached' });
  await tap(leader, 'panel-roles');
  await leader.locator('[data-testid^=battery-]', { hasText: /17/ }).waitFor();
  assert.deepEqual(faults({ leader, drugs }), []);
});
