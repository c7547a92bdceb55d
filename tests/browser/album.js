//! The album: pictures of every scene in every role, tablet and phone, dark and a part of them light, side by side on one page,
//! and which of them no longer look as they were accepted. `make album`, `make album ACCEPT=1` to accept all,
//! `make album ONLY=trauma,clear` for some scenes. It ends with 1 where a picture changed.
//! The accepted ones are in album.json as small grids (likeness.js). Our typeface comes with the program, and Chromium draws
//! without a graphics card, so that other machines agree within the tolerance; another version of Chromium may not.
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { difference, gridOf } from './likeness.js';
import { close, play, SCENES, shown } from './scenes.js';
import { dataFolder, start } from './server.js';
import { browse, OUTPUT, pair, pairTeam, PHONE, settled, TABLET, tap } from './team.js';

const ACCEPTED = new URL('./album.json', import.meta.url);
const accept = process.env.ACCEPT === '1';
const only = process.env.ONLY ? process.env.ONLY.split(',') : null;
const folder = join(OUTPUT, 'album');
rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });

/** How each screen is taken; the light ones of the first role of a scene only. */
const SHOTS = [['tablet', TABLET, 'dark'], ['phone', PHONE, 'dark'], ['tablet-light', TABLET, 'light'], ['phone-light', PHONE, 'light']];
/** Scenes that are also shown as eyes see them that tell colours apart otherwise, or not at all; to be looked at, not compared. */
const BY_OTHER_EYES = ['clear', 'late', 'rhythm', 'overdue'];
const EYES = ['protanopia', 'deuteranopia', 'tritanopia', 'achromatopsia'];
const pictures = [];
const others = [];
const data = dataFolder();
const browser = await browse();
const server = await start(['demo', '--no-team', '--speed', '1', '--listen', '127.0.0.1:0', '--data', data.path]);
const desk = await (await browser.newContext()).newPage();

/** What moves after a change of size has come to rest. */
async function rested(page) {
  await page.waitForTimeout(80);
  await settled(page);
}

async function take(page, name, both) {
  for (const [shot, size, colorScheme] of SHOTS.filter(([shot]) => both || !shot.endsWith('light'))) {
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme });
    await rested(page);
    // What is asked for at this moment.
    const moment = await page.evaluate(() => ['hands', 'task'].map((id) => document.querySelector(`[data-testid=${id}]`)?.dataset).map((one) => (one ? `${one.order ?? ''}${one.action ?? ''}${one.urgency ? `:${one.urgency}` : ''}` : '')).join(' ').trim());
    const png = await page.screenshot({ path: join(folder, `${name}-${shot}.png`) });
    pictures.push({ name, shot, moment, grid: await gridOf(desk, png) });
  }
  await page.emulateMedia({ colorScheme: 'dark' });
}

async function takeByOtherEyes(page, name) {
  const line = await page.context().newCDPSession(page);
  await page.setViewportSize(TABLET);
  await rested(page);
  for (const type of EYES) {
    await line.send('Emulation.setEmulatedVisionDeficiency', { type });
    await page.screenshot({ path: join(folder, `${name}-${type}.png`) });
    others.push({ name, shot: type });
  }
  await line.send('Emulation.setEmulatedVisionDeficiency', { type: 'none' });
  await line.detach();
}

try {
  const team = await pairTeam(browser, server);
  if (!only) {
    const fresh = await (await browser.newContext({ viewport: TABLET, reducedMotion: 'reduce' })).newPage();
    await fresh.goto(`${server.address}/pair`);
    await fresh.getByTestId('pair-submit').waitFor();
    await take(fresh, 'page-pair', true);
    const guest = await pair(browser, server, { name: 'Bay 9 drugs', location: 'Bay 9', role: 'drugs' });
    await take(guest, 'page-home', true);
    await tap(guest, 'start-code');
    await take(guest, 'page-start', true);
    await guest.reload();
    await tap(guest, 'settings');
    await take(guest, 'page-settings', true);
  }
  for (const scene of SCENES.filter(({ name }) => !only || only.includes(name))) {
    const code = await play(team.leader, scene);
    await shown(scene.roles.map((role) => team[role]), code);
    if (scene.leaves) for (const id of ['leave-code', 'leave-confirm']) await tap(team[scene.leaves], id);
    for (const role of scene.roles) {
      for (const id of scene.press?.[role] ?? []) await tap(team[role], id);
      await take(team[role], `${scene.name}-${role}`, role === scene.roles[0]);
      if (BY_OTHER_EYES.includes(scene.name)) await takeByOtherEyes(team[role], `${scene.name}-${role}`);
      if (scene.press?.[role]) await team[role].reload();
    }
    await close(team.leader, code);
  }
} finally {
  await browser.close();
  await server.kill();
  data.remove();
}

const known = (() => {
  try {
    return JSON.parse(readFileSync(ACCEPTED, 'utf8'));
  } catch {
    return {};
  }
})();
const changed = [];
/** A code goes on while pictures are taken: one that shows another task than the accepted one cannot be compared. */
const later = [];
for (const one of pictures) {
  const key = `${one.name}-${one.shot}`;
  const before = known[key];
  if (before && before.moment !== one.moment) {
    later.push(`${key}: ${before.moment}, now ${one.moment}`);
    continue;
  }
  one.note = before ? difference(before.grid, one.grid) : 'new';
  if (one.note) changed.push(`${key}: ${one.note}`);
}
const names = [...new Set(pictures.map(({ name }) => name))];
const of = (name) => [...pictures, ...others].filter((one) => one.name === name);
writeFileSync(join(folder, 'index.html'), `<!doctype html><html lang="en"><meta charset="utf-8"><title>Album</title>
<style>body{font:16px sans-serif;margin:1rem;background:#777;color:#000}section{margin:0 0 2rem}div{display:flex;gap:8px;align-items:flex-start;overflow-x:auto}figure{margin:0}img{height:480px;display:block}.changed img{outline:6px solid #d00}</style>
<h1>Album: ${names.length} screens, ${pictures.length} pictures, ${changed.length} changed</h1>
${names.map((name) => `<section id="${name}"><h2>${name}</h2><div>${of(name).map(({ shot, note }) => `<figure class="${note ? 'changed' : ''}"><a href="${name}-${shot}.png"><img loading="lazy" alt="${name}, ${shot}" src="${name}-${shot}.png"></a><figcaption>${shot}${note ? ` – ${note}` : ''}</figcaption></figure>`).join('')}</div></section>`).join('\n')}</html>\n`);
if (later.length > 0) console.log(`${later.length} taken at another moment than the accepted ones, not compared:\n  ${later.join('\n  ')}`);
console.log(`${pictures.length} pictures in ${join(folder, 'index.html')}`);
if (accept) {
  const all = only ? { ...known } : {};
  for (const { name, shot, moment, grid } of pictures) all[`${name}-${shot}`] = { moment, grid };
  const lines = Object.keys(all).sort().map((key) => `${JSON.stringify(key)}: ${JSON.stringify(all[key])}`);
  writeFileSync(ACCEPTED, `{\n${lines.join(',\n')}\n}\n`);
  console.log(`accepted ${changed.length} changes`);
} else if (changed.length > 0) {
  console.log(`${changed.length} changed:\n  ${changed.join('\n  ')}\nLook at them in the album. If they are right: make album ACCEPT=1 and commit tests/browser/album.json.`);
  process.exitCode = 1;
}
