// Moments of a made-up code, as the server would send them: what the pictures are taken of. Nothing here is built
// into the client.
const NOW = 356_000;
const record = (seq, at_ms, event, name = 'Recorder tablet', source = 'live') => ({
  seq, id: `00000000-0000-7000-8000-${String(seq).padStart(12, '0')}`, code: 'c1', at_ms, recorded_at: '2026-11-25T09:14:28.123Z',
  by: { device: 'd1', name, roles: ['recorder'] }, source, event,
});
const prompt = (action, roles, show, due, late, over = {}) => ({
  key: `${action}@a`, action, roles, show_at_ms: show, due_at_ms: due, late_at_ms: late, detail: {}, done_by: [], assumed: false, why: '', ...over,
});
const base = (roles, over = {}) => ({
  type: 'view', code: 'c1', run: 3, rev: 40, durable_seq: 31, last_seq: 31, head: 'ab', roles, unheld: [], pulse_duty: 'relief', at_ms: NOW, phase: 'arrest',
  training: false, age_group: 'adult',
  hands: { now: 'compress', since_ms: 250_000, overdue: false, observed: { compressing: true, since_ms: 250_000, by: 'manual' } },
  prompts: [], next_check_ms: 370_000, look: { at_ms: 244_000, rhythm: 'vf', pulse: 'not_checked' },
  counts: { shocks: 2, last_shock_at_ms: 248_000, looks: 2, roscs: 0 },
  drugs: [
    { drug: 'epinephrine', doses: 1, last_at_ms: 252_000, last_assumed: false, due_at_ms: 492_000, too_early_until_ms: 432_000, latest_ms: 552_000 },
    { drug: 'amiodarone', doses: 0, last_assumed: false, due_at_ms: 370_000 },
  ],
  running: { compressed_ms: 310_000, arrest_ms: 356_000 }, compressor_since_ms: 250_000, compressions_per_minute: 110,
  protocol: { id: 'aha-adult', title: 'Adult cardiac arrest (AHA)', version: 1, approved: false }, ...over,
});
const stop = { kind: 'compressions_stopped', reason: 'rhythm_check' };
const check = prompt('pause_for_check', ['compressor'], 340_000, 370_000, 380_000, { tap: stop });
const team = [
  { role: 'compressor', held: true, action: 'pause_for_check', due_at_ms: 370_000, late_at_ms: 380_000 },
  { role: 'relief', held: true, action: 'ready_relief', due_at_ms: 360_000 },
  { role: 'airway', held: true, action: 'ventilate', due_at_ms: 0 },
  { role: 'drugs', held: true, action: 'draw_up', drug: 'amiodarone', due_at_ms: 355_000 },
  { role: 'defibrillator', held: true, action: 'charge_ahead', due_at_ms: 340_000, late_at_ms: 350_000 },
  { role: 'recorder', held: false },
];
const roster = [
  ['d1', 'Leader tablet', ['leader'], true], ['d2', 'Bay 1 chest', ['compressor', 'relief'], true], ['d3', 'Drug trolley', ['drugs'], true],
  ['d4', 'Airway trolley', ['airway'], false], ['d5', 'Defibrillator tablet', ['defibrillator'], true],
].map(([device, name, roles, connected]) => ({ device, name, roles, connected }));
const timeline = [
  record(1, 0, { kind: 'clock_started' }), record(2, 8_000, { kind: 'compressions_started', by: 'manual' }),
  record(3, 60_000, { kind: 'pads_attached', position: 'anterolateral' }), record(4, 66_000, stop),
  record(5, 70_000, { kind: 'rhythm_checked', rhythm: 'vf', pulse: 'not_checked' }, 'Leader tablet'),
  record(6, 82_000, { kind: 'shock_delivered', energy_j: 200, double: false }, 'Defibrillator tablet'),
  record(7, 120_000, { kind: 'access_gained', route: 'iv' }, 'Drug trolley', 'late'), record(8, 130_000, { kind: 'note', text: 'Family is in the corridor' }),
  record(9, 248_000, { kind: 'shock_delivered', energy_j: 200, double: false }, 'Defibrillator tablet'),
  record(10, 252_000, { kind: 'drug_given', drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, route: 'iv', form: 'bolus' }, 'Drug trolley'),
  record(11, 300_000, { kind: 'voided', target: '00000000-0000-7000-8000-000000000008', reason: 'Tapped by mistake' }),
];
const paused = {
  hands: { now: 'pause', since_ms: 349_000, until_ms: 359_000, overdue: false, observed: { compressing: false, since_ms: 349_000 } },
  pause: { since_ms: 349_000, reason: 'rhythm_check', limit_ms: 359_000 },
};
const give = (due, over) => prompt('give_drug', ['drugs'], due - 15_000, due, due + 60_000, {
  detail: { drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, volume: { value: 10, unit: 'mL' }, strength: '0.1 mg/mL', flush_ml: 20, ...over },
  tap: { kind: 'drug_given', drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, route: 'iv', form: 'bolus' },
});
const amio = prompt('draw_up', ['drugs'], 310_000, 355_000, null, {
  detail: { drug: 'amiodarone', dose: { value: 300, unit: 'mg' }, volume: { value: 6, unit: 'mL' }, strength: '50 mg/mL', give_at_ms: 370_000, waits_for: 'shock', or: { drug: 'lidocaine', dose: { value: 80, unit: 'mg' }, volume: { value: 4, unit: 'mL' } } },
  tap: { kind: 'drug_prepared', drug: 'amiodarone', dose: { value: 300, unit: 'mg' } },
});
const breaths = (detail) => prompt('ventilate', ['airway'], 0, 0, null, { detail });

/** name, view, and what else the page is told. */
export const scenes = [
  { name: 'leader-announce', view: base(['leader'], { team, prompts: [
    { ...prompt('announce', ['leader'], 340_000, 340_000, null, { detail: { of: 'pause_for_check', of_at_ms: 370_000 } }), tap: { kind: 'task_done', prompt: 'announce@a' } },
    prompt('review_causes', ['leader'], 390_000, 430_000, null, { tap: { kind: 'task_done', prompt: 'x' } })] }) },
  { name: 'leader-rhythm', view: base(['leader'], { team, ...paused, prompts: [prompt('read_rhythm', ['leader'], 349_000, 354_000, 359_000)] }) },
  { name: 'leader-rosc', view: base(['leader'], { team, ...paused, prompts: [prompt('confirm_rosc', ['leader'], 353_000, 353_000, null, { tap: { kind: 'rosc' } })] }) },
  { name: 'leader-roles', view: base(['leader'], { team, prompts: [] }), press: ['panel-roles', 'give-relief'] },
  { name: 'leader-causes', view: base(['leader'], { team, prompts: [] }), press: ['panel-causes'] },
  { name: 'leader-more', view: base(['leader'], { team, prompts: [] }), press: ['panel-more', 'outcome-died'] },
  { name: 'leader-standby', view: base(['leader'], { phase: 'standby', epoch_ms: null, team: [], counts: { shocks: 0, looks: 0, roscs: 0 }, running: { compressed_ms: 0, arrest_ms: 0 }, hands: { now: 'none', since_ms: 0, overdue: false, observed: { compressing: false } } }) },
  { name: 'compressor-ahead', view: base(['compressor'], { prompts: [check] }) },
  { name: 'compressor-plain', view: base(['compressor'], { prompts: [{ ...check, show_at_ms: 400_000, due_at_ms: 430_000 }], next_check_ms: 430_000 }) },
  { name: 'compressor-stop', view: base(['compressor'], { prompts: [{ ...check, due_at_ms: 352_000 }] }) },
  { name: 'compressor-resume', view: base(['compressor'], { ...paused, hands: { ...paused.hands, now: 'compress', overdue: true }, prompts: [prompt('resume_compressions', ['compressor', 'relief'], 349_000, 350_000, 355_000, { tap: { kind: 'compressions_started', by: 'manual' } })] }) },
  { name: 'compressor-clear', view: base(['compressor'], { hands: { now: 'clear', since_ms: 354_000, until_ms: 364_000, overdue: false, observed: { compressing: false, since_ms: 354_000 } }, prompts: [] }) },
  { name: 'compressor-lost', view: base(['compressor'], { prompts: [check] }), lose: true },
  { name: 'relief-finger', view: base(['relief'], { prompts: [prompt('finger_on_pulse', ['relief'], 350_000, 355_000, null, { tap: { kind: 'pulse_finger_placed' } }), prompt('ready_relief', ['relief'], 340_000, 360_000, null, { tap: { kind: 'compressor_changed' } })] }) },
  { name: 'airway-ratio', view: base(['airway'], { prompts: [breaths({ ratio: '30:2' })] }) },
  { name: 'airway-etco2', view: base(['airway'], { prompts: [breaths({ one_breath_each_s: 6 }), prompt('read_etco2', ['airway'], 320_000, 355_000, null)] }), press: ['tap-etco2_read'] },
  { name: 'drugs-drawup', view: base(['drugs'], { prompts: [amio, give(492_000, { too_early_until_ms: 432_000 })] }) },
  { name: 'drugs-give', view: base(['drugs'], { prompts: [give(352_000, { prepared: true })] }) },
  { name: 'drugs-early', view: base(['drugs'], { prompts: [give(492_000, { too_early_until_ms: 432_000, prepared: true })] }) },
  { name: 'drugs-late', view: base(['drugs'], { prompts: [give(290_000, { prepared: true })] }) },
  { name: 'drugs-access', view: base(['drugs'], { prompts: [prompt('gain_access', ['drugs'], 0, 360_000, null, { tap: { kind: 'access_gained', route: 'iv' } })] }) },
  { name: 'defib-charge', view: base(['defibrillator'], { prompts: [prompt('charge_ahead', ['defibrillator'], 355_000, 360_000, null, { detail: { energy_j: 200, energy_rule: 'Biphasic: the maker’s dose (120 to 200 J).' }, tap: { kind: 'charging_started', energy_j: 200 } })] }) },
  { name: 'defib-shock', view: base(['defibrillator'], { hands: { now: 'clear', since_ms: 354_000, until_ms: 364_000, overdue: false, observed: { compressing: false, since_ms: 354_000 } }, charge: { since_ms: 340_000, ready_at_ms: 347_000, energy_j: 200 }, prompts: [prompt('give_shock', ['defibrillator'], 354_000, 354_000, null, { detail: { energy_j: 200 }, tap: { kind: 'shock_delivered', energy_j: 200, double: false } })] }) },
  { name: 'defib-allclear', view: base(['defibrillator'], { charge: { since_ms: 350_000, ready_at_ms: 362_000, energy_j: 200 }, prompts: [prompt('call_all_clear', ['defibrillator'], 350_000, 362_000, null, { tap: { kind: 'all_clear_called' } })] }) },
  { name: 'recorder', view: base(['recorder'], { prompts: [] }) },
  { name: 'recorder-late', view: base(['recorder'], { prompts: [] }), press: ['late-fact', 'late-drug_given', 'option-epinephrine', 'option-skip', 'option-iv'] },
  { name: 'two-roles', view: base(['airway', 'drugs'], { training: true, prompts: [breaths({ ratio: '30:2' }), give(352_000, { prepared: true })] }) },
  { name: 'leader-lent', view: base(['leader'], { team, training: true, unheld: ['compressor', 'drugs'], hands: { now: 'compress', since_ms: 0, overdue: false, observed: { compressing: false } }, prompts: [prompt('start_compressions', ['compressor'], 0, 0, 400_000, { tap: { kind: 'compressions_started', by: 'manual' } }), prompt('gain_access', ['drugs'], 0, 60_000, null, { tap: { kind: 'access_gained', route: 'iv' } })] }) },
  { name: 'undo', view: base(['compressor'], { prompts: [check] }), press: ['primary'] },
  { name: 'not-saving', view: base(['recorder'], { not_saving: '3 records: the disk is full', durable_seq: 28, prompts: [] }) },
  { name: 'home', codes: [] },
  { name: 'home-start', codes: [], press: ['start-code'] },
  { name: 'home-running', codes: [{ id: 'c1', location: 'Bay 2', phase: 'arrest', training: true, age_group: 'adult', epoch_ms: 0, joined: false }], press: ['join'] },
  { name: 'pair', unpaired: true },
].map((scene) => ({ now_ms: NOW, roster, timeline, ...scene }));
