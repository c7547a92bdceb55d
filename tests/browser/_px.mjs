import { play, SCENES, shown, close } from './scenes.js';
import { dataFolder, start } from './server.js';
import { browse, pairTeam, TABLET } from './team.js';
import * as audit from './audit.js';
const only = process.env.ONLY?.split(',');
const data = dataFolder(); const browser = await browse();
const server = await start(['demo','--no-team','--speed','1','--listen','127.0.0.1:0','--data',data.path]);
const rows=new Map();
try {
  const team = await pairTeam(browser, server);
  for (const scene of SCENES.filter(s=>!only||only.includes(s.name))) {
    try { const code = await play(team.leader, scene); await shown(scene.roles.map(r=>team[r]), code);
    for (const role of scene.roles) { const page=team[role]; await page.setViewportSize(TABLET); await page.waitForTimeout(250);
      const caps=await audit.capitals(page,'[data-testid=task] .words > span'); const tight=await page.getByTestId('task').evaluate(o=>[o.dataset.tight,o.querySelector('.doubt')!==null,o.querySelectorAll('.lines > *').length, o.querySelector('.words').clientHeight, o.querySelector('.words').clientWidth]);
      for (const c of caps) { const k=c.words; if(!rows.has(k)||rows.get(k).px>c.px) rows.set(k,{px:c.px,where:scene.name+'/'+role,tight}); } }
    await close(team.leader, code).catch(()=>{}); } catch(e){ console.log('!!',scene.name,String(e).slice(0,200)); }
  }
  for (const [w,r] of [...rows].sort((a,b)=>a[1].px-b[1].px)) console.log(r.px.toFixed(1).padStart(6), JSON.stringify(r.tight), r.where, '|', w);
} finally { await browser.close(); await server.kill(); data.remove(); }
