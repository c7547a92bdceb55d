import { mkdirSync } from 'node:fs';
import { play, shown, close } from './scenes.js';
import { dataFolder, start } from './server.js';
import { browse, pairTeam, TABLET, PHONE } from './team.js';
const OUT='/tmp/walk'; mkdirSync(OUT,{recursive:true});
const s=1000;
const E=(t,e)=>[t*s,e];
const story=[
 E(4,{kind:'compressions_started',by:'manual'}), E(12,{kind:'pads_attached',position:'anterolateral'}), E(50,{kind:'access_gained',route:'iv'}),
 E(110,{kind:'pulse_finger_placed',site:'femoral'}), E(113,{kind:'charging_started',energy_j:200}), E(118,{kind:'charge_ready',energy_j:200}),
 E(124,{kind:'compressions_stopped',reason:'rhythm_check'}), E(128,{kind:'rhythm_checked',rhythm:'vf',pulse:'not_checked'}), E(130,{kind:'all_clear_called'}), E(132,{kind:'shock_delivered',energy_j:200}), E(134,{kind:'compressions_started',by:'manual'}),
 E(135,{kind:'compressor_changed'}), E(200,{kind:'airway_placed',airway:'supraglottic',confirmed_by_capnography:true}),
 E(254,{kind:'compressions_stopped',reason:'rhythm_check'}), E(257,{kind:'rhythm_checked',rhythm:'pea',pulse:'absent'}), E(260,{kind:'compressions_started',by:'manual'}),
 E(275,{kind:'drug_prepared',drug:'epinephrine',dose:{value:1,unit:'mg'}}), E(285,{kind:'drug_given',drug:'epinephrine',dose:{value:1,unit:'mg'},route:'iv',form:'bolus'}),
 E(340,{kind:'etco2_read',mmhg:18}),
 E(380,{kind:'compressions_stopped',reason:'rhythm_check'}), E(384,{kind:'rhythm_checked',rhythm:'perfusing',pulse:'present'}), E(388,{kind:'rosc'}),
];
const moments=[2,20,98,115,126,129,131,133,145,215,256.5,265,278,330,360,386,395];
const only=process.env.M?process.env.M.split(',').map(Number):moments;
const data=dataFolder(); const browser=await browse();
const server=await start(['demo','--no-team','--speed','1','--listen','127.0.0.1:0','--data',data.path]);
try{ const team=await pairTeam(browser,server); const roles=Object.keys(team);
 for(const m of only){ const code=await play(team.leader,{name:'w',ago_ms:m*s,events:story.filter(([t])=>t<=m*s)}); await shown(roles.map(r=>team[r]),code);
  for(const role of roles){ const page=team[role]; for(const [n,z] of [['t',TABLET],['p',PHONE]]){ await page.setViewportSize(z); await page.waitForTimeout(150); await page.screenshot({path:`${OUT}/${String(m).padStart(3,'0')}-${n}-${role}.png`}); } }
  await close(team.leader,code); }
} finally{ await browser.close(); await server.kill(); data.remove(); }
