//! Weight with where it comes from, protocols that fit, circumstances, targets and notes; and the words of prompts.
import { describe, expect, test } from 'vitest';
import type { Prompt } from '../wire/generated';
import { ageText, anchorOf, circumstanceChoices, fits, readingOf, readingSheet, sortNotes, sheetFor, standing, targetOf, weightText } from './patient';
import { beside, doseText, eventText, instruction, particulars, teamText } from './speak';

describe('a weight never stands alone', () => {
  test.each([
    [{ weight_kg: 14, weight_basis: 'age' as const }, '14 kg, estimated'],
    [{ weight_kg: 14.06, weight_basis: 'measured' as const }, '14.06 kg, measured'],
    [{ weight_kg: 9, weight_basis: 'length' as const }, '9 kg, by length tape'],
    [{ weight_kg: 80, weight_basis: 'told' as const }, '80 kg, as told'],
    [{ weight_kg: 80 }, '80 kg, source not said'],
  ])('%o reads %s', (patient, text) => expect(weightText(patient)).toBe(text));
  test('none is none, not zero', () => expect(weightText({})).toBeNull());
  test.each([[0, '0 months'], [23, '23 months'], [24, '2 years'], [47, '3 years']])('%i months read %s', (months, text) =>
    expect(ageText(months)).toBe(text));
});

describe('protocols that fit', () => {
  test('a child’s covers infants, an adult’s no child', () => {
    expect(fits('child', 'infant')).toBe(true);
    expect(fits('adult', 'child')).toBe(false);
    expect(fits('infant', 'child')).toBe(false);
    expect(fits('adult', 'adult')).toBe(true);
  });
});

describe('circumstances', () => {
  test('the nine known ones where the protocol lists none', () => {
    expect(circumstanceChoices([], []).map((one) => one.id)).toEqual([
      'pregnancy', 'hypothermia', 'opioid', 'hyperkalaemia', 'drowning', 'anaphylaxis', 'trauma', 'pulmonary_embolism', 'local_anaesthetic',
    ]);
  });
  test('the protocol’s list counts, and what is set can always be cleared; waveform and limits are set elsewhere', () => {
    const listed = [{ id: 'trauma', title: 'Injury' }, { id: 'treatment_limit', title: 'x' }];
    expect(circumstanceChoices(listed, ['drowning', 'monophasic_defibrillator'])).toEqual([
      { id: 'trauma', title: 'Injury' }, { id: 'drowning', title: 'Drowning' },
    ]);
  });
});

describe('keys and targets', () => {
  test.each([['confirm_second_dose@d1', 'd1'], ['confirm_second_dose@d1:amiodarone', 'd1'], ['x', '']])('%s hangs on %s', (key, id) =>
    expect(anchorOf(key)).toBe(id));
  test('aftercare names its target in the key', () => {
    expect(targetOf({ key: 'aftercare@r:oxygen' })).toBe('oxygen');
    expect(readingOf('oxygen')).toBe('spo2_pct');
    expect(readingOf('ecg_12_lead')).toBeNull();
    expect(readingSheet('ecg_12_lead')).toBeNull();
  });
  test('a line of a department’s own takes a reading as well as a tick', () => {
    expect(readingSheet('bundle_7')).toEqual({ kind: 'vital_read', preset: {} });
    expect(readingSheet('lactate')).toEqual({ kind: 'vital_read', preset: { vital: 'lactate_mmol_l' } });
  });
  test.each([
    [{}, 'open'], [{ at_ms: 5 }, 'read'], [{ reading: '6 mmol/L', at_ms: 5 }, 'read'], [{ reading: '94 %', within: true }, 'within'],
    [{ reading: '80 %', within: false }, 'outside'],
  ])('%o stands %s', (line, stands) => expect(standing(line)).toBe(stands));
});

describe('what a circumstance’s task without a tap opens', () => {
  const asks = (done_by: string[], detail = {}): unknown => sheetFor({ done_by, detail: detail as Prompt['detail'] });
  test.each([
    [['task_done', 'vital_read', 'patient_updated'], { kind: 'vital_read', preset: { vital: 'temp_c' } }],
    [['task_done', 'airway_placed'], { kind: 'airway_placed', preset: {} }],
    [['task_done'], null],
  ])('%o', (done_by, sheet) => expect(asks(done_by)).toEqual(sheet));
  test('the drug of the task is taken along', () =>
    expect(asks(['task_done', 'drug_given'], { drug: 'naloxone' })).toEqual({ kind: 'drug_given', preset: { drug: 'naloxone' } }));
});

test('conflicts and what is withheld never fold away', () => {
  const notes = [{ kind: 'conflict', text: 'a' }, { kind: 'withheld', text: 'b' }, { kind: 'assumption', text: 'c' }, { kind: 'information', text: 'd' }] as const;
  expect(sortNotes(notes).open.map((note) => note.text)).toEqual(['a', 'b']);
  expect(sortNotes(notes).folded.map((note) => note.text)).toEqual(['c', 'd']);
});

describe('the words of new prompts', () => {
  const prompt = (action: Prompt['action'], detail: object): Prompt => ({
    key: `${action}@a`, action, roles: ['leader'], show_at_ms: 0, due_at_ms: 0, late_at_ms: null, detail: detail as Prompt['detail'],
    done_by: [], assumed: false, why: '',
  });
  test('a dose without a weight is a rule, and the strength stands once: never an amount', () => {
    const told = (rule: string): string[] => particulars(prompt('give_drug', { drug: 'epinephrine', rule, strength: '0.1 mg/mL', flush_ml: 5 }));
    expect(told('0.01 mg/kg')).toEqual(['0.01 mg/kg', '0.1 mg/mL', 'flush 5 mL']);
    expect(told('0.01 mg/kg; at 0.1 mg/mL that is 0.1 mL/kg')).toEqual(['0.01 mg/kg; at 0.1 mg/mL that is 0.1 mL/kg', 'flush 5 mL']);
  });
  test('a unit that is misread is spelt out, and never leaves its number', () => {
    expect(doseText({ value: 400, unit: 'ug' })).toBe('400\u00a0microgram');
    expect(doseText({ value: 10, unit: '[iU]' })).toBe('10\u00a0units');
  });
  test('of a role’s task the leader reads the protocol’s own words, where it has some', () => {
    const line = { role: 'drugs', held: true, action: 'special_care' } as const;
    expect(teamText({ ...line, item: 'Call for O-negative blood' })).toBe('Call for O-negative blood');
    expect(teamText(line)).toBe('special care');
    expect(teamText({ ...line, action: 'give_drug', drug: 'epinephrine' })).toBe('give Epinephrine (adrenaline)');
  });
  test('an estimate stands with its formula and as not confirmed', () => {
    expect(particulars(prompt('enter_weight', { estimate: { weight_kg: 14, formula: 'APLS: 2 x years + 8' } }))).toEqual([
      'estimate 14 kg (APLS: 2 x years + 8), not confirmed',
    ]);
  });
  test.each([
    ['consider_circumstance', { circumstance: 'hypothermia' }, 'Hypothermia?'],
    ['confirm_second_dose', { drug: 'epinephrine' }, 'Epinephrine (adrenaline) twice?'],
    ['initial_breaths', { breaths: 5 }, '5 breaths first'],
    ['special_care', { item: 'Push the womb to the left', circumstance: 'pregnancy' }, 'Push the womb to the left'],
  ] as const)('%s', (action, detail, words) => expect(instruction(prompt(action, detail), 1)).toBe(words));
  test('a dose that is only expected is got ready, and ordered once it is not', () => {
    const dose = (assumed: boolean): Prompt => ({ ...prompt('give_drug', { drug: 'epinephrine' }), assumed });
    expect([instruction(dose(true), 1), instruction(dose(false), 1)]).toEqual(['Get ready: Epinephrine (adrenaline)', 'Give Epinephrine (adrenaline)']);
  });
  test('what has to be read with a task stands beside it', () => {
    expect(beside(prompt('charge_ahead', { energy_j: 200 }), 1)).toBe('Compressions go on');
    expect(beside(prompt('announce', { of: 'pause_for_check', of_at_ms: 26_000 }), 1_000)).toBe('Say: “rhythm check in 25 seconds”');
    expect(beside(prompt('give_shock', { energy_j: 200 }), 1)).toBeNull();
  });
  test('a shock of a stack says which', () => {
    expect(particulars(prompt('give_shock', { energy_j: 200, stack: { number: 2, of: 3 } }))).toEqual(['shock 2 of 3']);
  });
});

describe('the record in words', () => {
  test.each([
    [{ kind: 'patient_updated', weight_kg: 14, weight_basis: 'age' } as const, 'Patient details: 14 kg, estimated'],
    [{ kind: 'vital_read', temp_c: 29.5, temp_site: 'core' } as const, 'Temperature, °C: 29.5, Core'],
    [{ kind: 'lab_read', paco2_mmhg: 39 } as const, 'PaCO₂, mmHg: 39'],
    [{ kind: 'circumstance_set', name: 'trauma', on: false } as const, 'Circumstance: Trauma – no longer'],
    [{ kind: 'task_done', prompt: 'announce@a' } as const, 'Said it'],
    [{ kind: 'task_done', prompt: 'review_causes@a' } as const, 'Causes reviewed'],
    [{ kind: 'prior_care_reported', epinephrine_doses: 2 } as const, 'Care before arrival: Epinephrine (adrenaline) doses 2, Last dose: time unknown'],
  ])('%o', (event, text) => expect(eventText(event)).toBe(text));
});
