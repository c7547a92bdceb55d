//! Countdown and urgency, what a lost link leaves of the prompts, the hands line, and the running fraction.
import { describe, expect, test } from 'vitest';
import type { Event, Hands, Prompt, Role } from '../wire/generated';
import { build, questions, type Kind, type Setting } from './choices';
import { clockText, leftText, readClock } from './format';
import { handsSaying } from './hands';
import { runningFraction } from './running';
import { chestTap, doneKeys, newer, shows, tappable, tasksFor, urgencyOf, withoutDone, withTicks, type RoleTasks, type TapDone } from './tasks';
import { QUANTITIES } from './units';

const prompt = (key: string, over: Partial<Prompt> = {}): Prompt => ({
  key,
  action: key.split('@')[0] as Prompt['action'],
  roles: ['compressor'],
  show_at_ms: 330_000,
  due_at_ms: 360_000,
  late_at_ms: 370_000,
  detail: {} as Prompt['detail'],
  done_by: ['rhythm_checked'],
  assumed: false,
  why: '',
  ...over,
});

describe('digits', () => {
  test.each([
    [0, '0:00'], [999, '0:00'], [1000, '0:01'], [61_500, '1:01'], [3_599_999, '59:59'], [-500, '−0:01'], [-60_000, '−1:00'],
  ])('code time %i shows %s', (ms, text) => expect(clockText(ms)).toBe(text));
  test.each([[30_000, '0:30'], [29_001, '0:30'], [1, '0:01'], [0, '0:00'], [-5, '0:00']])(
    '%i ms left shows %s', (ms, text) => expect(leftText(ms)).toBe(text));
  test.each([['3:05', 185_000], ['12', 720_000], ['-1:30', -90_000], ['1:75', null], ['x', null]])(
    'typed %s is %s', (text, ms) => expect(readClock(text)).toBe(ms));
});

describe('urgency by IEC 60601-1-8 priorities', () => {
  const one = prompt('pause_for_check@a');
  test.each([[329_999, 'none'], [330_000, 'low'], [359_999, 'low'], [360_000, 'medium'], [369_999, 'medium'], [370_000, 'high']])(
    'at %i it is %s', (now, urgency) => expect(urgencyOf(one, now)).toBe(urgency));
  test('without a late moment it never becomes high', () => {
    expect(urgencyOf({ ...one, late_at_ms: null }, 9_999_999)).toBe('medium');
  });
  test('a breath rhythm never presses', () => {
    expect(urgencyOf(prompt('ventilate@a', { due_at_ms: 0, late_at_ms: 0 }), 400_000)).toBe('none');
  });
});

describe('what a role sees', () => {
  const breath = prompt('ventilate@a', { roles: ['airway'], show_at_ms: 0, due_at_ms: 0 });
  const etco2 = prompt('read_etco2@a', { roles: ['airway'] });
  const pads = prompt('attach_pads@a', { roles: ['defibrillator'], show_at_ms: 0, due_at_ms: 0 });
  test('a standing task gives way to one that shows', () => {
    expect(tasksFor([breath, etco2], ['airway'], 340_000).main).toBe(etco2);
    expect(tasksFor([breath, etco2], ['airway'], 100_000).main).toBe(breath);
  });
  test('other roles come only where nobody has them', () => {
    expect(tasksFor([pads], ['leader'], 10).main).toBeNull();
    expect(tasksFor([pads], ['leader'], 10, ['defibrillator']).main).toBe(pads);
  });
  test('the button does the first that shows and has a tap, else the next that comes', () => {
    const tap: Event = { kind: 'compressions_stopped', reason: 'rhythm_check' };
    const later = prompt('pause_for_check@b', { show_at_ms: 500_000, due_at_ms: 530_000, tap });
    expect(tappable(tasksFor([prompt('read_rhythm@a'), later], ['compressor'], 340_000), 340_000)).toBe(later);
  });
  test('what is only ticked off cannot be ticked ahead of its time', () => {
    const said = prompt('announce@a', { tap: { kind: 'task_done', prompt: 'announce@a' } });
    const tasks = (now: number): RoleTasks => tasksFor([said], ['compressor'], now);
    expect(tappable(tasks(329_999), 329_999)).toBeNull();
    expect(tappable(tasks(330_000), 330_000)).toBe(said);
  });
  test('what waits never pushes aside the rhythm, and no button below another task answers it', () => {
    const tap: Event = { kind: 'patient_updated', weight_kg: 14, weight_basis: 'age' };
    const weight = prompt('enter_weight@o', { roles: ['leader'], show_at_ms: 0, due_at_ms: 0, tap });
    const rhythm = prompt('read_rhythm@a', { roles: ['leader'], show_at_ms: 300_000, due_at_ms: 305_000 });
    const both = tasksFor([weight, rhythm], ['leader'], 306_000);
    expect(both.main).toBe(rhythm);
    expect(tappable(both, 306_000)).toBeNull();
    const alone = tasksFor([weight, rhythm], ['leader'], 100_000);
    expect(alone.main).toBe(weight);
    expect(tappable(alone, 100_000)).toBe(weight);
  });
  test('a task of a circumstance that is late already never hides the rhythm question, nor a lent start of compressions', () => {
    const late = prompt('special_care@p:decide', { roles: ['leader'], show_at_ms: 0, due_at_ms: 240_000 });
    const rhythm = prompt('read_rhythm@a', { roles: ['leader'], show_at_ms: 360_000, due_at_ms: 365_000 });
    const start = prompt('start_compressions@a', { show_at_ms: 0, due_at_ms: 250_000 });
    expect(tasksFor([late, rhythm], ['leader'], 361_000).main).toBe(rhythm);
    expect(tasksFor([late, rhythm], ['leader'], 300_000).main).toBe(late);
    expect(tasksFor([late, start], ['leader'], 300_000, ['compressor']).main).toBe(start);
  });
  test('an age is no weight, and a void answers only the dose that it strikes out', () => {
    const weight = prompt('enter_weight@o', { done_by: ['patient_updated'] });
    const twice = prompt('confirm_second_dose@d1:epinephrine', { done_by: ['task_done', 'voided'] });
    expect(doneKeys({ kind: 'patient_updated', age_months: 36 }, [weight])).toEqual([]);
    expect(doneKeys({ kind: 'patient_updated', weight_kg: 14 }, [weight])).toEqual(['enter_weight@o']);
    expect(doneKeys({ kind: 'voided', target: 'd1', reason: '' }, [twice])).toEqual(['confirm_second_dose@d1:epinephrine']);
    expect(doneKeys({ kind: 'voided', target: 'd2', reason: '' }, [twice])).toEqual([]);
  });
  test('the chest stops for the shock while hands are clear', () => {
    const hands: Hands = { now: 'clear', since_ms: 0, overdue: false, observed: { compressing: true, since_ms: 0 } };
    expect(chestTap(hands)).toEqual({ kind: 'compressions_stopped', reason: 'shock' });
    expect(chestTap({ ...hands, now: 'compress' })).toEqual({ kind: 'compressions_stopped', reason: 'rhythm_check' });
    expect(chestTap({ ...hands, observed: { compressing: false } })).toEqual({ kind: 'compressions_started', by: 'manual' });
  });
  test('it shows from its moment on', () => expect([shows(etco2, 329_999), shows(etco2, 330_000)]).toEqual([false, true]));
});

describe('own taps without a link only remove prompts', () => {
  const give = (drug: string): Prompt =>
    prompt(`give_drug@${drug}`, { roles: ['drugs'], done_by: ['drug_given'], detail: { drug } as Prompt['detail'] });
  const now = prompt('pause_for_check@a');
  const next = prompt('pause_for_check@b', { show_at_ms: 450_000, due_at_ms: 480_000, assumed: true });
  const said = prompt('announce@a', { done_by: ['task_done'] });
  const look: Event = { kind: 'rhythm_checked', rhythm: 'vf', pulse: 'not_checked' };
  const view = { prompts: [now, next, said], run: 1, rev: 7, code: 'c' };
  const tap = (event: Event, over: Partial<TapDone> = {}): TapDone => ({
    id: 't', event, does: doneKeys(event, view.prompts), seen: '1.7', code: 'c', ...over,
  });

  test('a tap does the nearest prompt of an action, not the ones after it', () => {
    expect(doneKeys(look, view.prompts)).toEqual(['pause_for_check@a']);
    expect(withoutDone(view, [tap(look)], false)).toEqual([next, said]);
  });
  test('one drug does not do the other', () => {
    const event: Event = { kind: 'drug_given', drug: 'epinephrine', route: 'iv', form: 'bolus' };
    expect(doneKeys(event, [give('epinephrine'), give('amiodarone')])).toEqual(['give_drug@epinephrine']);
  });
  test('a said announcement is that one', () => {
    expect(doneKeys({ kind: 'task_done', prompt: 'announce@b' }, view.prompts)).toEqual([]);
    expect(doneKeys({ kind: 'task_done', prompt: 'announce@a' }, view.prompts)).toEqual(['announce@a']);
  });
  test('while linked a newer view knows better', () => {
    expect(withoutDone({ ...view, rev: 8 }, [tap(look)], true)).toHaveLength(3);
    expect(withoutDone({ ...view, rev: 8 }, [tap(look)], false)).toHaveLength(2);
  });
  test('an undone tap removes nothing, nor does one for another code', () => {
    expect(withoutDone(view, [tap(look), tap({ kind: 'voided', target: 't', reason: '' }, { id: 'u' })], false)).toHaveLength(3);
    expect(withoutDone(view, [tap(look, { code: 'other' })], false)).toHaveLength(3);
  });
});

test('views are ordered by run, then rev', () => {
  const view = (run: number, rev: number, code = 'c'): { run: number; rev: number; code: string } => ({ run, rev, code });
  expect(newer(view(1, 6), view(1, 7))).toBe(false);
  expect(newer(view(2, 1), view(1, 7))).toBe(true);
  expect(newer(view(1, 9), view(2, 1))).toBe(false);
  expect(newer(view(1, 1, 'd'), view(2, 1))).toBe(true);
});

describe('the hands line', () => {
  const hands = (over: Partial<Hands>): Hands => ({
    now: 'compress', since_ms: 0, overdue: false, observed: { compressing: true, since_ms: 0 }, ...over,
  });
  test('it stops ordering three seconds after the loss, and only then', () => {
    expect(handsSaying(hands({}), 'arrest', 1000, 2999).kind).toBe('compress');
    expect(handsSaying(hands({ now: 'clear' }), 'arrest', 1000, 3000)).toEqual({ kind: 'unknown', last: 'clear', ago_ms: 3000 });
  });
  test('a pause counts down to the moment the server gave, then orders to compress', () => {
    expect(handsSaying(hands({ now: 'pause', until_ms: 10_000 }), 'arrest', 4000, null)).toEqual({ kind: 'pause', left_ms: 6000 });
    expect(handsSaying(hands({ now: 'pause', until_ms: 10_000 }), 'arrest', 10_000, null)).toEqual({ kind: 'compress', overdue: true });
  });
  test('no order outside an arrest', () => {
    expect(handsSaying(hands({ now: 'none' }), 'rosc', 0, 9000)).toEqual({ kind: 'idle', phase: 'rosc' });
    expect(handsSaying(hands({ now: 'compress' }), 'closed', 0, null)).toEqual({ kind: 'idle', phase: 'closed' });
  });
});

describe('the running compression fraction: K / A, carried on', () => {
  const sums = { compressed_ms: 90_000, arrest_ms: 120_000 };
  test('compressing adds to both', () => {
    expect(runningFraction(sums, { compressing: true }, 'arrest', 120_000, 150_000)).toBeCloseTo(120 / 150, 10);
  });
  test('a pause adds to the arrest only', () => {
    expect(runningFraction(sums, { compressing: false }, 'arrest', 120_000, 150_000)).toBeCloseTo(90 / 150, 10);
  });
  test('outside an arrest it stands still; before one there is none', () => {
    expect(runningFraction(sums, { compressing: false }, 'rosc', 120_000, 900_000)).toBe(0.75);
    expect(runningFraction({ compressed_ms: 0, arrest_ms: 0 }, { compressing: false }, 'standby', 0, 0)).toBeNull();
  });
});

describe('questions', () => {
  const setting: Setting = {
    causes: [{ id: 'hypoxia', title: 'Hypoxia' }], circumstances: [], energy_j: 200, age_group: 'adult',
    protocols: [
      { id: 'one-adult', title: 'One', version: 2, age_group: 'adult' }, { id: 'one-child', title: 'Two', version: 3, age_group: 'child' },
    ],
  };
  const kinds: Kind[] = [
    'compressions_started', 'compressions_stopped', 'pause_reason', 'pads_attached', 'pulse_finger_placed', 'shock_delivered',
    'shock_aborted', 'drug_given', 'access_gained', 'airway_placed', 'breaths_given', 'etco2_read', 'vital_read',
    'patient_updated', 'cause_considered', 'circumstance_set', 'code_closed', 'note', 'moved', 'protocol_changed', 'lab_read',
  ];
  test.each(kinds)('%s is asked for in words', (kind) => {
    const asked = questions(kind, {}, setting);
    expect(asked.length).toBeGreaterThan(0);
    for (const one of asked) expect(one.title).not.toBe('');
  });
  test('the pulse is asked for only after an organised rhythm', () => {
    expect(questions('rhythm_checked', { rhythm: 'vf' }, setting).map((one) => one.field)).toEqual(['rhythm']);
    expect(questions('rhythm_checked', { rhythm: 'perfusing' }, setting).map((one) => one.field)).toEqual(['rhythm', 'pulse']);
  });
  const fields = (kind: Kind, answers: Parameters<typeof questions>[1], over: Partial<Setting> = {}): string[] =>
    questions(kind, answers, { ...setting, ...over }).map((one) => one.field);
  test('a weight is asked with where it comes from, and nothing is proposed', () => {
    expect(fields('patient_updated', { detail: 'weight' })).toEqual(['detail', 'weight_kg', 'weight_basis']);
    expect(build('patient_updated', { detail: 'weight', weight_kg: 14.06, weight_basis: 'told' })).toEqual({ kind: 'patient_updated', weight_kg: 14.06, weight_basis: 'told' });
    const basis = questions('patient_updated', { detail: 'weight' }, setting).find((one) => one.field === 'weight_basis');
    expect(basis?.options?.map((one) => one.value)).toEqual(['measured', 'length', 'told']);
  });
  test('a temperature says where it was taken, a pressure has two numbers', () => {
    expect(fields('vital_read', { vital: 'temp_c' })).toEqual(['vital', 'value', 'temp_site']);
    expect(build('vital_read', { vital: 'temp_c', value: 29.5, temp_site: 'core' })).toEqual({ kind: 'vital_read', temp_c: 29.5, temp_site: 'core' });
    expect(build('vital_read', { vital: 'systolic_mmhg', value: 95, diastolic_mmhg: 50 })).toEqual({ kind: 'vital_read', systolic_mmhg: 95, diastolic_mmhg: 50 });
    expect(build('vital_read', { vital: 'paco2_mmhg', value: 39 })).toEqual({ kind: 'lab_read', paco2_mmhg: 39 });
  });
  test('only protocols that fit the age are offered', () => {
    const offered = (age_group: Setting['age_group']): unknown[] =>
      (questions('protocol_changed', {}, { ...setting, age_group })[0]?.options ?? []).map((one) => one.value);
    expect(offered('adult')).toEqual(['one-adult 2']);
    expect(offered('infant')).toEqual(['one-child 3']);
    expect(build('protocol_changed', { protocol: 'one-child 3', why: 'Age group' })).toEqual({ kind: 'protocol_changed', protocol: { id: 'one-child', version: 3 }, reason: 'Age group' });
  });
  test('a child is offered no list of adult energies', () => {
    expect(questions('shock_delivered', {}, { ...setting, age_group: 'child' })[0]?.number).toBe('energy_j');
    expect(questions('shock_delivered', {}, setting)[0]?.options?.length).toBeGreaterThan(0);
  });
  test('a circumstance can be set and cleared', () => {
    expect(build('circumstance_set', { name: 'trauma', on: false })).toEqual({ kind: 'circumstance_set', name: 'trauma', on: false });
  });
  test('a dose is told in the unit it comes in: none is proposed where nobody can know it', () => {
    const dose = (drug: string, task?: object) => questions('drug_given', { drug }, setting, task).find((one) => one.field === 'dose');
    const unit = (drug: string, task?: object) => QUANTITIES.dose.units[dose(drug, task)?.unit ?? -1]?.code;
    expect(unit('epinephrine')).toBe('mg');
    expect(unit('fluid')).toBe('mL');
    expect(dose('naloxone')?.unit).toBeNull();
    const calcium = { drug: 'calcium_chloride', volume: { value: 10, unit: 'mL' } };
    expect(unit('calcium_chloride', calcium)).toBe('mL');
    expect(dose('calcium_chloride', calcium)?.offers).toEqual([{ value: '10 mL', label: '10\u00a0mL' }]);
    expect(dose('naloxone', calcium)?.offers, 'another drug’s amount is none of this one').toEqual([]);
  });
  test('answers make the event of the wire', () => {
    expect(build('rhythm_checked', { rhythm: 'vf' })).toEqual({ kind: 'rhythm_checked', rhythm: 'vf', pulse: 'not_checked' });
    expect(build('drug_given', { drug: 'atropine', dose: undefined, route: 'iv' })).toEqual({ kind: 'drug_given', drug: 'atropine', route: 'iv', form: 'bolus' });
    expect(build('drug_given', { drug: 'naloxone', dose: '400 ug', route: 'intranasal' })).toEqual({
      kind: 'drug_given', drug: 'naloxone', dose: { value: 400, unit: 'ug' }, route: 'intranasal', form: 'bolus',
    });
    expect(build('vital_read', { vital: 'spo2_pct', value: 94 })).toEqual({ kind: 'vital_read', spo2_pct: 94 });
    expect(build('airway_placed', { airway: 'tracheal', capno: true })).toEqual({ kind: 'airway_placed', airway: 'tracheal', confirmed_by_capnography: true });
  });
});

describe('a view that had to be short', () => {
  const ticked = (key: string, more: Partial<Prompt>): Prompt => ({ ...prompt(key, more), tap: undefined }) as Prompt;

  test('a tick that it left out is made of the key, and nothing else is', () => {
    const shown = { roles: ['leader'] as Role[], show_at_ms: 0, due_at_ms: 0, done_by: ['task_done'] };
    const [prepare, core, later] = withTicks(
      [
        ticked('special_care@a:pregnancy.prepare_delivery', shown),
        ticked('special_care@a:hypothermia.core_temperature', { ...shown, done_by: ['task_done', 'vital_read'] }),
        ticked('special_care@a:pregnancy.deliver', { ...shown, show_at_ms: 9_000 }),
      ],
      1_000,
    );
    expect(prepare?.tap).toEqual({ kind: 'task_done', prompt: 'special_care@a:pregnancy.prepare_delivery' });
    expect(core?.tap).toBeUndefined();
    expect(later?.tap).toBeUndefined();
  });
});

describe('the order of what shows', () => {
  test('what is late goes first, and a dose before a circumstance that is only due', () => {
    const at = (key: string, role: Role, due_at_ms: number, late_at_ms: number | null = null): Prompt =>
      prompt(key, { roles: [role], show_at_ms: 0, due_at_ms, late_at_ms });
    const names = (list: Prompt[], role: Role): string[] => {
      const tasks = tasksFor(list, [role], 341_000);
      return [tasks.main, ...tasks.after].map((one) => one?.key ?? '');
    };
    expect(names([
      at('special_care@a:pregnancy.prepare_delivery', 'leader', 0),
      at('special_care@a:pregnancy.deliver', 'leader', 300_000, 300_000),
      at('special_care@a:pregnancy.decide_delivery', 'leader', 240_000, 240_000),
    ], 'leader')).toEqual(['special_care@a:pregnancy.decide_delivery', 'special_care@a:pregnancy.deliver', 'special_care@a:pregnancy.prepare_delivery']);
    expect(names([
      at('special_care@a:pregnancy.stop_magnesium', 'drugs', 0),
      at('give_drug@b', 'drugs', 338_000, 398_000),
    ], 'drugs')).toEqual(['give_drug@b', 'special_care@a:pregnancy.stop_magnesium']);
    // In trauma the reversible causes stand before epinephrine.
    expect(names([at('give_drug@b', 'drugs', 200_000, 260_000), at('special_care@a:trauma.volume', 'drugs', 0)], 'drugs')[0])
      .toBe('special_care@a:trauma.volume');
  });

  test('who stands at the chest is asked for the pulse as soon as that shows: the task and its button say the same', () => {
    const [go, finger] = [
      prompt('ready_relief@a', { roles: ['relief'], show_at_ms: 90_000, due_at_ms: 110_000 }),
      prompt('finger_on_pulse@a', { roles: ['relief'], show_at_ms: 105_000, due_at_ms: 115_000, tap: { kind: 'pulse_finger_placed' } }),
    ];
    expect(tasksFor([go, finger], ['relief'], 104_000).main?.action).toBe('ready_relief');
    const tasks = tasksFor([go, finger], ['relief'], 112_000);
    expect([tasks.main?.action, tappable(tasks, 112_000)?.action]).toEqual(['finger_on_pulse', 'finger_on_pulse']);
  });
});
