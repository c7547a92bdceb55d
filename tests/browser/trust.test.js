//! A server with the department's own authority, met by a browser that does not trust it yet, and by one that does.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { cutOff, lowContrast } from './audit.js';
import { dataFolder, start } from './server.js';
import { browse, OUTPUT, PHONE, TABLET } from './team.js';

const SMALL = { width: 320, height: 568 };
/** Longer than the page takes to look once more whether it is trusted. */
const LOOKED_AGAIN_MS = 4_000;
const stands = {};

before(async () => {
  stands.data = dataFolder();
  stands.browser = await browse();
  stands.server = await start(['serve', '--tls', 'local', '--listen', '127.0.0.1:0', '--data', stands.data.path]);
  stands.plain = stands.server.address.replace('https:', 'http:');
});
after(async () => {
  await stands.browser?.close();
  await stands.server?.kill();
  stands.data?.remove();
});

test('a browser that does not trust the server is told how, and stays', { timeout: 120_000 }, async () => {
  for (const colorScheme of ['light', 'dark']) {
    const context = await stands.browser.newContext({ viewport: TABLET, colorScheme });
    const page = await context.newPage();
    await page.goto(`${stands.plain}/pair#code=${stands.server.code}`);
    assert.equal(await page.getByRole('heading').innerText(), 'Trust this server, once on each tablet');
    const shown = await page.locator('code').innerText();
    assert.ok(stands.server.said().includes(shown) && /^([0-9A-F]{2}:){31}[0-9A-F]{2}$/.test(shown), shown);
    for (const [name, size] of Object.entries({ tablet: TABLET, phone: PHONE, small: SMALL })) {
      await page.setViewportSize(size);
      assert.deepEqual([...(await lowContrast(page)), ...(await cutOff(page))], [], `${name}, ${colorScheme}`);
      const low = await page.locator('.action').evaluateAll((all) => all.filter((one) => one.getBoundingClientRect().height < 64).length);
      assert.equal(low, 0, 'targets of at least 64 px');
      await page.screenshot({ path: `${OUTPUT}/trust-${name}-${colorScheme}.png`, fullPage: true });
    }
    const file = await page.request.get(`${stands.plain}/authority.crt`);
    assert.equal(file.headers()['content-type'], 'application/x-x509-ca-cert');
    await page.waitForTimeout(LOOKED_AGAIN_MS);
    assert.ok(page.url().startsWith('http:'), page.url());
    await context.close();
  }
});

test('one that trusts it goes on by itself, pairs, and has what browsers give to safe pages', { timeout: 120_000 }, async () => {
  const context = await stands.browser.newContext({ viewport: TABLET, ignoreHTTPSErrors: true });
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(String(error)));
  await page.goto(`${stands.plain}/pair#code=${stands.server.code}`);
  await page.waitForURL(`${stands.server.address}/**`);
  assert.equal(await page.getByTestId('pair-code').inputValue(), stands.server.code);
  await page.getByTestId('pair-name').fill('Bay 1 leader');
  await page.getByTestId('pair-submit').click();
  await page.getByTestId('home').waitFor();
  const safe = await page.evaluate(() => [isSecureContext, 'wakeLock' in navigator, 'serviceWorker' in navigator]);
  assert.deepEqual(safe, [true, true, true]);
  const cookies = (await context.cookies()).map(({ name, secure, httpOnly, sameSite }) => [name, secure, httpOnly, sameSite]);
  assert.deepEqual(cookies, [['__Host-coxswain_device', true, true, 'Strict']]);
  await page.reload();
  await page.getByTestId('home').waitFor();
  assert.deepEqual(page.faults, []);
  await context.close();
});
