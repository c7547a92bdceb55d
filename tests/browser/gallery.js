//! Pictures of every scene, for people to look at: `npm run gallery`, or with names and sizes as in
//! `npm run gallery -- trauma,moved 1024x768,320x568 fr`. It checks nothing but what `audit.js` finds, and says that.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { badTargets, cutOff, lowContrast } from './audit.js';
import { close, play, SCENES, shown } from './scenes.js';
import { dataFolder, start } from './server.js';
import { browse, OUTPUT, pairTeam, settled, speak, tap } from './team.js';

const [names, sizes = '1024x768,390x844', language = 'en'] = process.argv.slice(2);
const wanted = names && names !== 'all' ? names.split(',') : null;
const folder = process.env.COXSWAIN_GALLERY ?? join(OUTPUT, 'gallery');
mkdirSync(folder, { recursive: true });

/** What moves after a change of size has come to rest. */
async function rested(page) {
  await page.waitForTimeout(60);
  await settled(page);
}
const data = dataFolder();
const browser = await browse();
const server = await start(['demo', '--no-team', '--speed', '1', '--listen', '127.0.0.1:0', '--data', data.path]);
try {
  const team = await pairTeam(browser, server);
  for (const page of Object.values(team)) await speak(page, language);
  for (const scene of SCENES.filter(({ name }) => !wanted || wanted.includes(name))) {
    const code = await play(team.leader, scene);
    await shown(scene.roles.map((role) => team[role]), code);
    if (scene.leaves) for (const id of ['leave-code', 'leave-confirm']) await tap(team[scene.leaves], id);
    for (const role of scene.roles) {
      const page = team[role];
      for (const id of scene.press?.[role] ?? []) await tap(page, id);
      for (const size of sizes.split(',')) {
        const [width, height] = size.split('x').map(Number);
        await page.setViewportSize({ width, height });
        await rested(page);
        for (const found of [...(await cutOff(page)), ...(await lowContrast(page)), ...(await badTargets(page, { main: width >= 768 ? 104 : 0 }))]) console.log(`${scene.name} ${role} ${size}: ${found}`);
        await page.screenshot({ path: join(folder, `${scene.name}-${role}-${size}.png`) });
      }
      if (scene.press?.[role]) await page.reload();
    }
    await close(team.leader, code);
  }
} finally {
  await browser.close();
  await server.kill();
  data.remove();
}
