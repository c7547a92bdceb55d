// Takes pictures of every scene in both sizes, from the built client, with a browser that plays the server. It needs
// `npm run build` first, and writes PNGs to the folder given as first argument (default preview/out).
import { mkdirSync, readFileSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { scenes } from './scenes.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const dist = join(here, '../dist');
const out = process.argv[2] ?? join(here, 'out');
const only = process.argv[3];
mkdirSync(out, { recursive: true });
const TYPES = { '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css' };
const CAUSES = ['Hypovolaemia', 'Hypoxia', 'Hydrogen ion (acidosis)', 'Hypo- or hyperkalaemia', 'Hypothermia', 'Tension pneumothorax', 'Tamponade, cardiac', 'Toxins', 'Thrombosis, pulmonary', 'Thrombosis, coronary'];
const device = { id: 'd1', name: 'Leader tablet', location: 'Bay 2', home_role: 'leader' };
const answers = {
  '/healthz': {},
  '/api/me': { device },
  '/api/protocols': [{ id: 'aha-adult', title: 'Adult cardiac arrest (AHA)', version: 1, age_group: 'adult', approved: false, causes: CAUSES.map((title) => ({ id: title.toLowerCase(), title })) }, ...[['erc-adult', 'Adult cardiac arrest (ERC)', 'adult'], ['aha-child', 'Child cardiac arrest (AHA)', 'child'], ['erc-child', 'Child cardiac arrest (ERC)', 'child']].map(([id, title, age_group]) => ({ id, title, version: 1, age_group, approved: false, causes: [] }))],
};
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--disable-sync'] });
const problems = [];
for (const scene of scenes) {
  if (only && !scene.name.startsWith(only)) continue;
  for (const [width, height] of [[1024, 768], [390, 844]]) {
    const page = await browser.newPage({ viewport: { width, height } });
    page.setDefaultTimeout(5000);
    page.on('pageerror', (error) => problems.push(`${scene.name}: ${error.message}`));
    let link = null;
    let down = false;
    await page.route('http://localhost:9/**', (route) => {
      const path = new URL(route.request().url()).pathname;
      if (down) return route.abort();
      if (path === '/api/me' && scene.unpaired) return route.fulfill({ status: 401, json: {} });
      if (path in answers) return route.fulfill({ json: answers[path] });
      const file = path.startsWith('/assets/') ? path : '/index.html';
      return route.fulfill({ body: readFileSync(join(dist, file)), contentType: TYPES[extname(file)] });
    });
    await page.routeWebSocket('ws://localhost:9/ws', (socket) => {
      link = socket;
      const say = (message) => socket.send(JSON.stringify(message));
      socket.onMessage((text) => {
        const message = JSON.parse(text);
        if (message.type === 'ping') say({ type: 'pong', sent_ms: message.sent_ms, received_ms: Date.now(), replied_ms: Date.now() });
      });
      say({ type: 'welcome', device, server_ms: Date.now(), codes: scene.codes ?? [] });
      if (scene.view) {
        say({ epoch_ms: Date.now() - scene.now_ms, ...scene.view });
        say({ type: 'roster', code: 'c1', devices: scene.roster });
        say({ type: 'timeline', code: 'c1', reset: true, records: scene.timeline });
      }
    });
    await page.goto(scene.unpaired ? 'http://localhost:9/pair?code=7KQ2MX' : 'http://localhost:9/');
    await page.getByTestId(scene.view ? 'screen' : scene.unpaired ? 'pair-submit' : 'home').waitFor();
    for (const id of scene.press ?? []) await page.getByTestId(id).first().click().catch((error) => problems.push(`${scene.name}: ${error.message.split('\n')[0]} ${id}`));
    if (scene.lose) {
      down = true;
      await link.close();
      await page.locator('[data-testid=hands][data-order=unknown]').waitFor();
    }
    await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
    // What must never need scrolling or be cut off.
    if (scene.view) {
      for (const id of ['hands', 'task', 'primary']) {
        const place = page.getByTestId(id);
        // A question on a phone takes the main button's place.
        if ((await place.count()) === 0 || (scene.press && !(await place.first().isVisible()))) continue;
        const box = await place.first().boundingBox();
        if (!box || box.y < 0 || box.y + box.height > height + 1 || box.x < 0 || box.x + box.width > width + 1) problems.push(`${scene.name} ${width}: ${id} is off the screen`);
        if (id === 'primary' && box && box.height < 96) problems.push(`${scene.name} ${width}: primary is ${box.height} px high`);
      }
      const words = await page.locator('[data-testid=task] .words').boundingBox();
      if (words && words.height < height / 8 - 1) problems.push(`${scene.name} ${width}: the instruction has ${words.height} px`);
      const cut = await page.evaluate(() => [...document.querySelectorAll('[data-testid=hands] span, .side, [data-testid=task] .words span, button')].filter((one) => one.scrollWidth > one.clientWidth + 2 && one.clientWidth > 0 && getComputedStyle(one).display !== 'inline').map((one) => one.textContent.trim()));
      if (cut.length > 0) problems.push(`${scene.name} ${width}: cut off: ${cut.join(' | ')}`);
      const over = await page.evaluate(() => [...document.querySelectorAll('[data-testid=hands] *, .task .lines, .press *')].filter((one) => { const box = one.getBoundingClientRect(); return box.width > 0 && (box.right > innerWidth + 1 || box.bottom > innerHeight + 1); }).map((one) => one.textContent.trim()));
      if (over.length > 0) problems.push(`${scene.name} ${width}: beyond the edge: ${over.join(' | ')}`);
      const small = await page.evaluate(() => [...document.querySelectorAll('button')].map((one) => [one.getBoundingClientRect(), one.textContent.trim()]).filter(([box]) => box.width > 0 && (box.height < 59 || box.width < 50)).map(([box, text]) => `${text} ${Math.round(box.width)}x${Math.round(box.height)}`));
      if (small.length > 0) problems.push(`${scene.name} ${width}: small targets: ${small.join(' | ')}`);
    }
    await page.screenshot({ path: join(out, `${scene.name}-${width}.png`) });
    await page.close();
  }
}
await browser.close();
console.log(problems.length === 0 ? 'nothing off the screen or cut off' : problems.join('\n'));
