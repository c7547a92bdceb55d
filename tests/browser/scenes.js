//! Moments of codes, set up on the real server by records with times of their own: so that any moment can be looked at
//! within a second. A scene is made up; none is a patient.
const MINUTE = 60_000;

/** Compressions from the first second, pads and a line. */
const begun = [
  [5_000, { kind: 'compressions_started', by: 'manual' }],
  [20_000, { kind: 'pads_attached', position: 'anterolateral' }],
  [50_000, { kind: 'access_gained', route: 'iv' }],
];
const check = (at_ms, rhythm, pulse = 'not_checked') => [
  [at_ms, { kind: 'compressions_stopped', reason: 'rhythm_check' }],
  [at_ms + 4_000, { kind: 'rhythm_checked', rhythm, pulse }],
];
const go = (at_ms, by = 'manual') => [[at_ms, { kind: 'compressions_started', by }]];
const flat = (at_ms) => [...check(at_ms, 'asystole'), ...go(at_ms + 6_000)];
const shock = (at_ms, energy_j = 200) => [
  ...check(at_ms, 'vf'),
  [at_ms + 5_000, { kind: 'charging_started', energy_j }],
  [at_ms + 6_000, { kind: 'all_clear_called' }],
  [at_ms + 8_000, { kind: 'shock_delivered', energy_j, double: false }],
  ...go(at_ms + 10_000),
];
const set = (name, at_ms = 60_000) => [[at_ms, { kind: 'circumstance_set', name, on: true }]];
const core = (temp_c, at_ms) => [[at_ms, { kind: 'vital_read', temp_c, temp_site: 'core' }]];
const epinephrine = (at_ms) => [[at_ms, { kind: 'drug_given', drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, route: 'iv', form: 'bolus' }]];
const back = (at_ms) => [...check(at_ms, 'perfusing', 'present'), [at_ms + 6_000, { kind: 'rosc' }]];

/** What each scene shows: protocol, how long ago the arrest was recognised, what was recorded, whose screens matter. */
export const SCENES = [
  { name: 'pregnancy', ago_ms: 3.6 * MINUTE, events: [...begun, ...set('pregnancy', 30_000), [31_000, { kind: 'patient_updated', gestation_weeks: 32 }], ...flat(125_000)], roles: ['leader', 'relief', 'drugs', 'recorder'] },
  { name: 'pregnancy-late', ago_ms: 5.4 * MINUTE, events: [...begun, ...set('pregnancy', 30_000), [31_000, { kind: 'patient_updated', gestation_weeks: 32 }], ...flat(125_000), ...flat(250_000)], roles: ['leader'] },
  { name: 'cold', protocol: 'erc-adult', ago_ms: 4 * MINUTE, events: [...begun, ...set('hypothermia'), ...core(27.9, 70_000), ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator', 'recorder'] },
  { name: 'cold-shocks', protocol: 'erc-adult', ago_ms: 7 * MINUTE, events: [...begun, ...set('hypothermia'), ...core(27.9, 70_000), ...shock(30_000), ...shock(160_000), ...shock(290_000)], roles: ['leader', 'defibrillator'] },
  { name: 'mild', protocol: 'erc-adult', ago_ms: 5 * MINUTE, events: [...begun, ...set('hypothermia'), ...core(32.4, 70_000), ...flat(125_000), ...epinephrine(140_000)], roles: ['leader', 'drugs'] },
  { name: 'warm', protocol: 'erc-adult', ago_ms: 5 * MINUTE, events: [...begun, ...set('hypothermia'), ...core(35.6, 70_000), ...flat(125_000), ...epinephrine(140_000)], roles: ['leader', 'drugs'] },
  { name: 'cold-unknown', protocol: 'erc-adult', ago_ms: 3 * MINUTE, events: [...begun, ...set('hypothermia')], roles: ['leader', 'drugs', 'recorder'] },
  { name: 'opioid', ago_ms: 3 * MINUTE, events: [...begun.slice(0, 2), ...set('opioid'), ...flat(125_000)], roles: ['leader', 'drugs', 'airway'] },
  { name: 'hyperkalaemia', ago_ms: 3 * MINUTE, events: [...begun, ...set('hyperkalaemia'), ...flat(125_000), [135_000, { kind: 'lab_read', potassium_mmol_l: 7.2 }]], roles: ['leader', 'drugs'] },
  { name: 'hyperkalaemia-no-line', protocol: 'erc-adult', ago_ms: 3 * MINUTE, events: [...begun.slice(0, 2), ...set('hyperkalaemia'), ...flat(125_000)], roles: ['drugs'] },
  { name: 'potassium', ago_ms: 3 * MINUTE, events: [...begun, ...flat(125_000), [135_000, { kind: 'lab_read', potassium_mmol_l: 7.2 }]], roles: ['leader'] },
  { name: 'drowning', protocol: 'erc-adult', ago_ms: 20_000, events: [...set('drowning', 2_000), ...begun.slice(0, 1)], roles: ['leader', 'airway'] },
  { name: 'anaphylaxis', ago_ms: 1.5 * MINUTE, events: [...begun, ...set('anaphylaxis', 55_000)], roles: ['leader', 'drugs'] },
  { name: 'trauma', ago_ms: 2.5 * MINUTE, events: [...begun, ...set('trauma', 10_000), ...flat(125_000)], roles: ['leader', 'drugs', 'airway'] },
  { name: 'trauma-anaphylaxis', ago_ms: 2.5 * MINUTE, events: [...begun, ...set('trauma', 10_000), ...set('anaphylaxis', 12_000), ...flat(125_000)], roles: ['leader', 'drugs'] },
  { name: 'embolism', ago_ms: 8 * MINUTE, events: [...begun, ...set('pulmonary_embolism'), ...flat(125_000), ...epinephrine(140_000), [200_000, { kind: 'drug_given', drug: 'alteplase', dose: { value: 50, unit: 'mg' }, route: 'iv', form: 'bolus' }], ...flat(260_000), ...flat(395_000)], roles: ['leader', 'drugs'] },
  { name: 'anaesthetic', ago_ms: 3 * MINUTE, events: [...begun, ...set('local_anaesthetic'), [61_000, { kind: 'patient_updated', weight_kg: 70, weight_basis: 'told' }], ...flat(125_000)], roles: ['leader', 'drugs'] },
  { name: 'limit', ago_ms: 3 * MINUTE, events: [...begun, ...flat(125_000), ...set('treatment_limit', 140_000)], roles: ['leader'] },
  { name: 'monophasic', ago_ms: 4.2 * MINUTE, events: [...begun, ...set('monophasic_defibrillator', 30_000), ...shock(125_000, 360)], roles: ['leader', 'defibrillator'] },
  { name: 'child', protocol: 'aha-child', age: 'child', ago_ms: 2.3 * MINUTE, events: [...begun, ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator', 'airway'] },
  { name: 'child-estimate', protocol: 'aha-child', age: 'child', ago_ms: 2.3 * MINUTE, events: [...begun, [55_000, { kind: 'patient_updated', age_months: 50 }], ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator'] },
  { name: 'child-weight', protocol: 'aha-child', age: 'child', ago_ms: 3.8 * MINUTE, events: [...begun, [55_000, { kind: 'patient_updated', age_months: 50, weight_kg: 17, weight_basis: 'measured' }], ...shock(125_000, 34)], roles: ['leader', 'drugs', 'defibrillator'] },
  { name: 'infant', protocol: 'erc-child', age: 'infant', ago_ms: 2.3 * MINUTE, events: [...begun, ...flat(125_000)], roles: ['leader', 'drugs', 'airway'] },
  { name: 'infant-estimate', protocol: 'erc-child', age: 'infant', ago_ms: 2.3 * MINUTE, events: [...begun, [55_000, { kind: 'patient_updated', age_months: 5 }], [56_000, { kind: 'patient_updated', weight_kg: 6.5, weight_basis: 'age' }], ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator'] },
  { name: 'child-doubt', protocol: 'erc-child', age: 'child', ago_ms: 2.3 * MINUTE, events: [...begun, [55_000, { kind: 'patient_updated', age_months: 36, weight_kg: 41, weight_basis: 'told' }], ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator'] },
  { name: 'child-wrong-protocol', protocol: 'aha-adult', age: 'child', ago_ms: 2.3 * MINUTE, events: [...begun, ...flat(125_000)], roles: ['leader', 'drugs', 'defibrillator'] },
  { name: 'prior', ago_ms: 2 * MINUTE, prior: { shocks: 2, epinephrine_doses: 2, airway: 'supraglottic', access: 'io' }, events: begun.slice(0, 2), roles: ['leader', 'drugs'], press: { leader: ['panel-more', 'open-prior', 'prior-doses-more'] } },
  { name: 'standby', standby: true, events: [], roles: ['leader', 'drugs', 'compressor'] },
  { name: 'mechanical', ago_ms: 4 * MINUTE, events: [...begun, ...flat(125_000), [180_000, { kind: 'compressions_started', by: 'mechanical' }]], roles: ['leader', 'compressor', 'relief'] },
  { name: 'mechanical-off', ago_ms: 4 * MINUTE, events: [...begun, ...flat(125_000), ...go(180_000, 'mechanical'), ...go(215_000)], roles: ['leader', 'compressor', 'relief'] },
  { name: 'mechanical-clear', ago_ms: 131_000, events: [...begun, ...go(60_000, 'mechanical'), [125_000, { kind: 'rhythm_checked', rhythm: 'vf', pulse: 'not_checked' }], [126_000, { kind: 'charging_started', energy_j: 200 }], [129_000, { kind: 'all_clear_called' }]], roles: ['leader', 'compressor', 'defibrillator'] },
  { name: 'rhythm', ago_ms: 127_000, events: [...begun, [125_000, { kind: 'compressions_stopped', reason: 'rhythm_check' }]], roles: ['leader', 'compressor', 'defibrillator'] },
  { name: 'pulse', ago_ms: 130_000, events: [...begun, ...check(125_000, 'perfusing')], roles: ['leader', 'relief'] },
  { name: 'overdue', ago_ms: 141_000, events: [...begun, [125_000, { kind: 'compressions_stopped', reason: 'rhythm_check' }]], roles: ['leader', 'compressor', 'relief'] },
  { name: 'clear', ago_ms: 134_000, events: [...begun, ...check(125_000, 'vf'), [130_000, { kind: 'charging_started', energy_j: 200 }], [132_000, { kind: 'all_clear_called' }]], roles: ['leader', 'compressor', 'defibrillator', 'drugs'] },
  { name: 'shock-unknown', ago_ms: 146_000, events: [...begun, ...check(125_000, 'vf'), [130_000, { kind: 'charging_started', energy_j: 200 }], [132_000, { kind: 'all_clear_called' }]], roles: ['defibrillator', 'compressor'] },
  { name: 'possible-rosc', ago_ms: 5 * MINUTE, events: [...begun, ...flat(125_000), [130_000, { kind: 'airway_placed', airway: 'tracheal', confirmed_by_capnography: true }], ...epinephrine(140_000), [200_000, { kind: 'etco2_read', mmhg: 18 }], [285_000, { kind: 'etco2_read', mmhg: 46 }]], roles: ['leader', 'airway', 'drugs'] },
  { name: 'confirm-rosc', ago_ms: 2.2 * MINUTE, events: [...begun, ...check(125_000, 'perfusing', 'present')], roles: ['leader', 'compressor'] },
  { name: 'refractory', protocol: 'erc-adult', ago_ms: 7 * MINUTE, events: [...begun, ...shock(30_000), ...shock(160_000), ...shock(290_000)], roles: ['leader', 'defibrillator', 'drugs'] },
  { name: 'stack', protocol: 'erc-adult', witnessed: true, ago_ms: 50_000, events: [...begun.slice(0, 2), ...check(30_000, 'vf'), [35_000, { kind: 'charging_started', energy_j: 150 }], [36_000, { kind: 'all_clear_called' }], [38_000, { kind: 'shock_delivered', energy_j: 150, double: false }], ...check(42_000, 'vf'), [47_000, { kind: 'charging_started', energy_j: 200 }]], roles: ['leader', 'defibrillator'] },
  { name: 'aftercare-open', ago_ms: 5 * MINUTE, events: [...begun, ...flat(125_000), ...back(250_000)], roles: ['leader', 'airway', 'drugs', 'recorder'] },
  { name: 'aftercare', protocol: 'erc-adult', ago_ms: 14 * MINUTE, events: [...begun, ...flat(125_000), ...back(250_000), [300_000, { kind: 'vital_read', spo2_pct: 99 }], [310_000, { kind: 'vital_read', systolic_mmhg: 86, diastolic_mmhg: 48 }], [320_000, { kind: 'vital_read', temp_c: 36.4, temp_site: 'core' }], [330_000, { kind: 'lab_read', paco2_mmhg: 38 }], [340_000, { kind: 'vital_read', glucose_mmol_l: 12.4 }]], roles: ['leader', 'airway', 'drugs', 'recorder', 'compressor'] },
  { name: 'arrest-again', ago_ms: 9 * MINUTE, events: [...begun, ...flat(125_000), ...epinephrine(140_000), ...back(250_000), [500_000, { kind: 'arrest_again' }]], roles: ['leader', 'compressor', 'drugs'] },
  { name: 'ending', ago_ms: 24 * MINUTE, events: [...begun, ...flat(125_000), [130_000, { kind: 'airway_placed', airway: 'tracheal', confirmed_by_capnography: true }], ...epinephrine(140_000), [1_300_000, { kind: 'etco2_read', mmhg: 7 }]], roles: ['leader'], press: { leader: ['panel-more'] } },
  { name: 'death', ago_ms: 24 * MINUTE, events: [...begun, ...flat(125_000), ...epinephrine(140_000), [1_430_000, { kind: 'death_declared' }]], roles: ['leader', 'compressor'] },
  { name: 'syringe', protocol: 'aha-child', age: 'child', ago_ms: 2.3 * MINUTE, events: [...begun, [55_000, { kind: 'patient_updated', weight_kg: 30, weight_basis: 'told' }], [100_000, { kind: 'drug_prepared', drug: 'epinephrine', dose: { value: 0.3, unit: 'mg' } }], [120_000, { kind: 'patient_updated', weight_kg: 13, weight_basis: 'measured' }], ...flat(125_000)], roles: ['drugs'] },
  { name: 'twice', ago_ms: 4.5 * MINUTE, events: [...begun, ...flat(125_000), ...epinephrine(140_000), ...epinephrine(195_000)], roles: ['leader', 'drugs'] },
  { name: 'early', ago_ms: 4.5 * MINUTE, events: [...begun, ...flat(125_000), ...epinephrine(140_000)], roles: ['drugs'] },
  { name: 'late', ago_ms: 7.6 * MINUTE, events: [...begun, ...flat(125_000), ...epinephrine(140_000), ...flat(260_000)], roles: ['leader', 'drugs', 'compressor'] },
  { name: 'leave', ago_ms: 3 * MINUTE, events: [...begun, ...flat(125_000)], roles: ['drugs', 'leader'], press: { drugs: ['leave-code'], leader: ['leave-code'] } },
  { name: 'left', ago_ms: 3 * MINUTE, events: [...begun, ...flat(125_000)], leaves: 'drugs', roles: ['leader'] },
  { name: 'ecmo', ago_ms: 9 * MINUTE, events: [...begun, ...flat(125_000), [400_000, { kind: 'ecmo_started' }]], roles: ['leader'] },
  { name: 'moved', ago_ms: 9 * MINUTE, events: [...begun, ...flat(125_000), [500_000, { kind: 'moved', location: 'ICU 3' }]], roles: ['leader', 'drugs'], press: { leader: ['roles-change'] } },
  { name: 'crowd', protocol: 'erc-adult', ago_ms: 6 * MINUTE, events: [...begun, ...set('pregnancy', 30_000), ...set('hypothermia', 31_000), ...set('trauma', 32_000), ...set('anaphylaxis', 33_000), ...core(29, 70_000), ...flat(125_000)], roles: ['leader', 'drugs', 'relief'] },
];

/** How long a server on a busy machine may take to put a scene's records on disk. */
const TAKEN_WITHIN_MS = 60_000;

/**
 * Puts records on the record of a code from a page's device, beside the page's own connection; resolves once the server has
 * them all. A connection that ends is opened anew, as a device's own is: a record sent twice stands once.
 */
function put(page, code, records) {
  return page.evaluate(({ code, records, limit_ms }) => new Promise((done, fail) => {
    const id = () => {
      const bytes = crypto.getRandomValues(new Uint8Array(16));
      let time = Date.now();
      for (let place = 5; place >= 0; place -= 1, time = Math.floor(time / 256)) bytes[place] = time % 256;
      bytes[6] = (bytes[6] & 15) | 112;
      bytes[8] = (bytes[8] & 63) | 128;
      const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
      return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
    };
    const waiting = new Map(records.map(({ at_ms, event }) => { const own = id(); return [own, { type: 'record', id: own, code, ...(at_ms === undefined ? {} : { at_ms }), event }]; }));
    let socket;
    let over = false;
    const end = (outcome, what) => {
      if (over) return;
      over = true;
      clearTimeout(limit);
      socket.close();
      outcome(what);
    };
    const limit = setTimeout(() => end(fail, new Error(`${waiting.size} of ${records.length} records were not taken within ${limit_ms / 1000} s`)), limit_ms);
    const open = () => {
      socket = new WebSocket(`${location.origin.replace('http', 'ws')}/ws`);
      socket.onopen = () => { for (const record of waiting.values()) socket.send(JSON.stringify(record)); };
      socket.onclose = () => { if (!over) setTimeout(open, 500); };
      socket.onmessage = ({ data }) => {
        const message = JSON.parse(data);
        if (message.type === 'refused' && waiting.has(message.id)) end(fail, new Error(`${message.reason}: ${message.message}`));
        if (message.type === 'recorded' && waiting.delete(message.id) && waiting.size === 0) end(done);
      };
    };
    open();
  }), { code, records, limit_ms: TAKEN_WITHIN_MS });
}

/** Opens a scene's code with `leader`'s device and puts its records in; the team's devices wake into it. */
export async function play(leader, scene, location = 'Bay 1') {
  const { protocol = 'aha-adult', age = 'adult', prior, witnessed } = scene;
  const opening = { protocol: { id: protocol, version: 1 }, patient: { age_group: age }, location, training: true, ...(prior ? { prior_care: prior } : {}), ...(witnessed ? { witnessed, monitored: true } : {}) };
  const code = await leader.evaluate(async (opening) => {
    const answer = await fetch('/api/codes', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(opening) });
    return (await answer.json()).id;
  }, opening);
  if (!code) throw new Error('no code was opened');
  if (scene.standby) return code;
  const events = [...scene.events].sort((one, other) => one[0] - other[0]).map(([at_ms, event]) => ({ at_ms, event }));
  await put(leader, code, [{ at_ms: 0, event: { kind: 'clock_started', recognised_ago_ms: Math.round(scene.ago_ms ?? 0) } }, ...events]);
  return code;
}

/** Waits until the pages show this code. */
export async function shown(pages, code, phase) {
  for (const page of pages) {
    await page.locator(`[data-testid=screen][data-code="${code}"]${phase ? `[data-phase=${phase}]` : ''}`).waitFor();
  }
}

/** Closes a scene's code, so that its devices are free again. */
export const close = (leader, code) => put(leader, code, [{ event: { kind: 'code_closed', outcome: 'transferred' } }]);
