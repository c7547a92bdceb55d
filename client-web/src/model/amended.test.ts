//! A fact that gets other content keeps what nobody was asked about.
import { describe, expect, test } from 'vitest';
import type { Event } from '../wire/generated';
import { amended, questions, type Answers, type Setting } from './choices';

const CASES: readonly [name: string, was: Event, answers: Answers, now: Event][] = [
  ['an infusion stays one', { kind: 'drug_given', drug: 'epinephrine', dose: { value: 5, unit: 'ug' }, route: 'iv', form: 'infusion' }, { drug: 'epinephrine', dose: undefined, route: 'io' },
    { kind: 'drug_given', drug: 'epinephrine', dose: { value: 5, unit: 'ug' }, route: 'io', form: 'infusion' }],
  ['the dose of one drug is not that of another', { kind: 'drug_given', drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, route: 'iv', form: 'bolus' }, { drug: 'amiodarone', dose: undefined, route: 'iv' },
    { kind: 'drug_given', drug: 'amiodarone', route: 'iv', form: 'bolus' }],
  ['a shock stays in its stack', { kind: 'shock_delivered', energy_j: 200, stack_id: 'a', double: true }, { energy_j: 150 }, { kind: 'shock_delivered', energy_j: 150, stack_id: 'a', double: true }],
  ['another reading beside the first', { kind: 'vital_read', systolic_mmhg: 80, diastolic_mmhg: 40, temp_c: 35.1, temp_site: 'core' }, { vital: 'spo2_pct', value: 94 },
    { kind: 'vital_read', systolic_mmhg: 80, diastolic_mmhg: 40, temp_c: 35.1, temp_site: 'core', spo2_pct: 94 }],
  ['a weight leaves age and sex', { kind: 'patient_updated', weight_kg: 80, age_months: 480, sex: 'female' }, { detail: 'weight', weight_kg: 70, weight_basis: 'told' },
    { kind: 'patient_updated', weight_kg: 70, weight_basis: 'told', age_months: 480, sex: 'female' }],
  ['an airway keeps its confirmation', { kind: 'airway_placed', airway: 'supraglottic', confirmed_by_capnography: true }, { airway: 'supraglottic', capno: undefined }, { kind: 'airway_placed', airway: 'supraglottic', confirmed_by_capnography: true }],
  ['of another airway it is not known', { kind: 'airway_placed', airway: 'supraglottic', confirmed_by_capnography: true }, { airway: 'bag_mask' }, { kind: 'airway_placed', airway: 'bag_mask' }],
  ['a pulse is of the rhythm that was seen', { kind: 'rhythm_checked', rhythm: 'perfusing', pulse: 'present' }, { rhythm: 'vf' }, { kind: 'rhythm_checked', rhythm: 'vf', pulse: 'not_checked' }],
  ['a cause keeps its note', { kind: 'cause_considered', cause: 'hypoxia', note: 'tube looked at' }, { cause: 'hypovolaemia' }, { kind: 'cause_considered', cause: 'hypovolaemia', note: 'tube looked at' }],
];

describe('a fact that gets other content', () => {
  for (const [name, was, answers, now] of CASES) test(name, () => expect(amended(was, answers)).toEqual(now));
  test('vital signs stay vital signs', () => {
    const setting: Setting = { causes: [], circumstances: [], protocols: [], age_group: 'adult', energy_j: null };
    const offered = (amends: boolean): unknown[] => questions('vital_read', {}, { ...setting, amends })[0]?.options?.map((one) => one.value) ?? [];
    expect(offered(false)).toContain('ph');
    expect(offered(true)).not.toContain('ph');
  });
});
