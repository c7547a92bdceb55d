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
  running: { compressed_ms: 310_000, arrest_ms: 356_000 }, compressor_since_ms: 250_000, compressions_per_minute: 110, patient: {},
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

const child = (roles, patient, over = {}) => base(roles, { age_group: 'child', patient, protocol: { id: 'erc-child', title: 'Child cardiac arrest (ERC)', version: 1, approved: false }, ...over });
const known = { weight_kg: 14, weight_basis: 'age', age_months: 36 };
const estimate = { weight_kg: 14, formula: 'APLS: 2 x years + 8' };
const weigh = (over = {}) => prompt('enter_weight', ['leader', 'recorder'], 0, 0, null, { done_by: ['patient_updated'], ...over });
const weighEstimate = weigh({ detail: { estimate }, tap: { kind: 'patient_updated', weight_kg: 14, weight_basis: 'age' } });
const childDose = (over) => {
  const dose = over?.dose ?? { value: 0.14, unit: 'mg' };
  return { ...give(352_000, { dose, volume: { value: 1.4, unit: 'mL' }, flush_ml: 5, prepared: true, ...over }), tap: { kind: 'drug_given', drug: 'epinephrine', dose, route: 'iv', form: 'bolus' } };
};
const childRule = prompt('give_drug', ['drugs'], 337_000, 352_000, 412_000, { detail: { drug: 'epinephrine', rule: '0.01 mg/kg, at most 1 mg', strength: '0.1 mg/mL', flush_ml: 5 } });
const device = { observed: { compressing: true, since_ms: 250_000, by: 'mechanical' } };
const byDevice = { hands: { now: 'compress', since_ms: 250_000, overdue: false, ...device }, compressions_per_minute: undefined, compressor_since_ms: undefined };
const notes = [
  { kind: 'conflict', text: 'Hypothermia withholds epinephrine, anaphylaxis asks for it at once: the leader decides which goes first.' },
  { kind: 'withheld', text: 'Epinephrine and amiodarone: core temperature below 30 degrees Celsius.' },
  { kind: 'assumption', text: 'The dose before arrival is counted as given when the code was opened.' },
  { kind: 'information', text: 'Not dead until warm, unless there are obvious lethal signs.' },
];
const after = { phase: 'rosc', hands: { now: 'none', since_ms: 300_000, overdue: false, observed: { compressing: false } }, next_check_ms: undefined, pause: undefined };
const targets = [
  { id: 'oxygen', target: 'SpO2 94 to 98 %', reading: '91 %', at_ms: 330_000, within: false },
  { id: 'carbon_dioxide', target: 'PaCO2 4.5 to 6.0 kPa (34 to 45 mmHg)', reading: '39 mmHg', at_ms: 340_000, within: true },
  { id: 'blood_pressure', target: 'systolic above 100 mmHg, mean above 65 mmHg' },
  { id: 'ecg_12_lead', target: 'as soon as feasible', at_ms: 345_000 },
  { id: 'temperature', target: 'prevent fever above 37.7 degrees Celsius, at least 72 h' },
  { id: 'glucose', target: 'measure; treat by local policy', reading: '6.1 mmol/L', at_ms: 350_000 },
];
const care = (item, roles, over = {}) => ({ ...prompt('aftercare', roles, 300_000, 420_000, null, { detail: { item: 'Oxygen saturation', target: 'SpO2 94 to 98 %' }, tap: { kind: 'task_done', prompt: `aftercare@r:${item}` }, ...over }), key: `aftercare@r:${item}` });
const announce = { ...prompt('announce', ['leader'], 340_000, 340_000, null, { detail: { of: 'pause_for_check', of_at_ms: 370_000 } }), tap: { kind: 'task_done', prompt: 'announce@a' } };

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
  { name: 'child-weigh', view: child(['leader'], { age_months: 36, estimate }, { team, prompts: [weighEstimate] }) },
  { name: 'child-weigh-none', view: child(['leader'], {}, { team, prompts: [weigh()] }) },
  { name: 'child-weigh-pad', view: child(['recorder'], {}, { prompts: [weigh()] }), press: ['weight-enter', 'unit-1', 'key-3', 'key-1'] },
  { name: 'child-weigh-basis', view: child(['recorder'], {}, { prompts: [weigh()] }), press: ['weight-enter', 'key-1', 'key-4', 'option-save'] },
  { name: 'child-age', view: child(['leader'], {}, { team, prompts: [weigh()] }), press: ['age-enter', 'key-3'] },
  { name: 'child-announce', view: child(['leader'], { age_months: 36, estimate }, { team, prompts: [announce, weighEstimate] }) },
  { name: 'child-recorder', view: child(['recorder'], { age_months: 36, estimate }, { prompts: [weighEstimate] }) },
  { name: 'child-drugs-rule', view: child(['drugs'], {}, { prompts: [childRule] }) },
  { name: 'child-drugs-dose', view: child(['drugs'], known, { prompts: [childDose()] }) },
  { name: 'child-drugs-doubt', view: child(['drugs'], { ...known, weight_kg: 41, weight_basis: 'told', weight_doubt: '41 kg is far above what is usual at 3 years (about 14 kg).' }, { prompts: [childDose({ dose: { value: 0.41, unit: 'mg' }, volume: { value: 4.1, unit: 'mL' }, doubt: '41 kg is far above what is usual at 3 years (about 14 kg).' })] }) },
  { name: 'child-weigh-doubt', view: child(['leader'], { ...known, weight_kg: 41, weight_basis: 'told', weight_doubt: '41 kg is far above what is usual at 3 years (about 14 kg).' }, { team, prompts: [weigh({ done_by: ['patient_updated', 'task_done'], detail: { doubt: '41 kg is far above what is usual at 3 years (about 14 kg).' }, tap: { kind: 'task_done', prompt: 'enter_weight@a' } })] }) },
  { name: 'child-defib', view: child(['defibrillator'], known, { prompts: [prompt('charge', ['defibrillator'], 350_000, 350_000, null, { detail: { energy_j: 60, energy_rule: '4 J/kg, rounded up to the next setting of the defibrillator.' }, tap: { kind: 'charging_started', energy_j: 60 } })] }) },
  { name: 'child-defib-rule', view: child(['defibrillator'], {}, { prompts: [prompt('charge', ['defibrillator'], 350_000, 350_000, null, { detail: { energy_rule: '4 J/kg: a weight is needed.' }, tap: { kind: 'charging_started' } })] }) },
  { name: 'child-breaths', view: child(['airway'], known, { prompts: [prompt('initial_breaths', ['airway'], 0, 0, null, { detail: { breaths: 5 }, tap: { kind: 'breaths_given', count: 5 } }), breaths({ ratio: '15:2' })] }) },
  { name: 'child-protocol', view: base(['leader'], { team, age_group: 'child', prompts: [prompt('change_protocol', ['leader'], 0, 0, null, { detail: { item: 'aha-child' } })] }) },
  { name: 'leader-patient', view: base(['leader'], { team, patient: { gestation_weeks: 32 }, circumstances: ['pregnancy', 'trauma'], prompts: [] }), press: ['panel-patient'] },
  { name: 'leader-temperature', view: base(['leader'], { team, circumstances: ['hypothermia'], prompts: [] }), press: ['panel-patient', 'open-temperature', 'key-2', 'key-9', 'key-point', 'key-5', 'option-save'] },
  { name: 'leader-notes', view: base(['leader'], { team, patient: { core_temp_c: 29.5 }, circumstances: ['hypothermia', 'anaphylaxis'], notes, prompts: [announce] }), press: ['notes-fold'] },
  { name: 'leader-consider', view: base(['leader'], { team, prompts: [prompt('consider_circumstance', ['leader'], 350_000, 350_000, null, { detail: { circumstance: 'hypothermia' }, why: 'core temperature 29.5 degrees Celsius' })] }) },
  { name: 'leader-special', view: base(['leader'], { team, patient: { gestation_weeks: 32 }, circumstances: ['pregnancy'], prompts: [prompt('special_care', ['leader'], 300_000, 360_000, null, { detail: { item: 'Decide on delivery', target: 'delivery by 5 min after the arrest', circumstance: 'pregnancy' }, tap: { kind: 'task_done', prompt: 'x' } })] }) },
  { name: 'airway-special', view: base(['airway'], { circumstances: ['hypothermia'], prompts: [prompt('special_care', ['airway'], 300_000, 360_000, null, { detail: { item: 'Measure the core temperature', target: 'oesophagus or bladder', circumstance: 'hypothermia' }, done_by: ['task_done', 'vital_read', 'patient_updated'] })] }) },
  { name: 'leader-moved', view: base(['leader'], { team, prompts: [prompt('confirm_roles', ['leader'], 350_000, 350_000, null)] }) },
  { name: 'leader-limits', view: base(['leader'], { team, circumstances: ['treatment_limit'], prompts: [prompt('review_limits', ['leader'], 350_000, 350_000, null)] }) },
  { name: 'leader-flow', view: base(['leader'], { team, prompts: [prompt('confirm_flow', ['leader'], 350_000, 350_000, null)] }) },
  { name: 'leader-ending', view: base(['leader'], { team, notes: [{ kind: 'information', text: 'Asystole for 20 min under advanced life support with no reversible cause found: the guideline names this as a sign to weigh.' }], prompts: [] }), press: ['panel-more'] },
  { name: 'leader-protocols', view: base(['leader'], { team, prompts: [] }), press: ['panel-more', 'tap-protocol_changed'] },
  { name: 'leader-prior', view: base(['leader'], { team, prompts: [] }), press: ['panel-more', 'open-prior', 'prior-doses-more'] },
  { name: 'drugs-withheld', view: base(['drugs'], { patient: { core_temp_c: 29.5 }, circumstances: ['hypothermia'], notes: notes.slice(1, 2), drugs: [{ drug: 'epinephrine', doses: 1, last_at_ms: 252_000, last_assumed: false, withheld: true }, { drug: 'amiodarone', doses: 0, last_assumed: false, withheld: true }], prompts: [] }) },
  { name: 'drugs-twice', view: base(['drugs'], { prompts: [{ ...prompt('confirm_second_dose', ['drugs'], 350_000, 350_000, null, { detail: { drug: 'epinephrine', apart_ms: 45_000 } }), key: 'confirm_second_dose@00000000-0000-7000-8000-000000000010' }] }) },
  { name: 'drugs-special', view: base(['drugs'], { circumstances: ['local_anaesthetic'], patient: { weight_kg: 80, weight_basis: 'told' }, prompts: [prompt('special_care', ['drugs'], 300_000, 360_000, null, { detail: { item: 'Lipid emulsion 20 %', dose: { value: 120, unit: 'mL' }, target: '1.5 mL/kg as a bolus', circumstance: 'local_anaesthetic' }, tap: { kind: 'drug_given', drug: 'lipid_emulsion', dose: { value: 120, unit: 'mL' }, route: 'iv', form: 'bolus' } })] }) },
  { name: 'defib-stack', view: base(['defibrillator'], { circumstances: ['monophasic_defibrillator'], hands: { now: 'clear', since_ms: 354_000, until_ms: 364_000, overdue: false, observed: { compressing: false, since_ms: 354_000 } }, charge: { since_ms: 340_000, ready_at_ms: 347_000, energy_j: 360 }, prompts: [prompt('give_shock', ['defibrillator'], 354_000, 354_000, null, { detail: { energy_j: 360, stack: { number: 2, of: 3 } }, tap: { kind: 'shock_delivered', energy_j: 360, double: false } })] }) },
  { name: 'defib-pads', view: base(['defibrillator'], { prompts: [prompt('change_pads', ['defibrillator'], 350_000, 360_000, null, { detail: { target: 'anteroposterior' }, tap: { kind: 'pads_attached', position: 'anteroposterior' } })] }) },
  { name: 'device-compressor', view: base(['compressor'], { ...byDevice, prompts: [check] }) },
  { name: 'device-relief', view: base(['relief'], { ...byDevice, prompts: [] }) },
  { name: 'device-clear', view: base(['compressor'], { ...byDevice, hands: { now: 'clear', since_ms: 354_000, until_ms: 364_000, overdue: false, ...device }, prompts: [] }) },
  { name: 'after-leader', view: base(['leader'], { ...after, team: [], aftercare: targets, prompts: [care('ecg_12_lead', ['leader'], { detail: { item: '12-lead ECG', target: 'as soon as feasible' } })] }) },
  { name: 'after-recorder', view: base(['recorder'], { ...after, aftercare: targets, prompts: [] }) },
  { name: 'after-airway', view: base(['airway'], { ...after, prompts: [care('oxygen', ['airway'], { detail: { item: 'Oxygen saturation', target: 'SpO2 94 to 98 %', doubt: '91 % is below the target.' } })] }) },
  { name: 'after-paco2', view: base(['leader'], { ...after, team: [], aftercare: targets, prompts: [] }), press: ['target-carbon_dioxide-enter', 'unit-1', 'key-5', 'key-point', 'key-2'] },
  { name: 'undo', view: base(['compressor'], { prompts: [check] }), press: ['primary'] },
  { name: 'not-saving', view: base(['recorder'], { not_saving: '3 records: the disk is full', durable_seq: 28, prompts: [] }) },
  { name: 'home', codes: [] },
  { name: 'home-start', codes: [], press: ['start-code'] },
  { name: 'home-running', codes: [{ id: 'c1', location: 'Bay 2', phase: 'arrest', training: true, age_group: 'adult', epoch_ms: 0, joined: false }], press: ['join'] },
  { name: 'pair', unpaired: true },
].map((scene) => ({ now_ms: NOW, roster, timeline, ...scene }));
