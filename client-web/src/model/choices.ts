//! What has to be asked before an event can be recorded: one list of questions a kind, answered by big buttons. It
//! builds events and knows no screen.
import { t, word, type Key } from '../text';
import type { Event } from '../wire/generated';

/** The kinds that a person records by hand. */
export type Kind = Event['kind'];

/** One answer on a button. */
export interface Option {
  value: string | number | boolean;
  label: string;
  more?: string;
}

/** One question. */
export interface Question {
  field: string;
  title: string;
  options?: Option[];
  /** A number pad, starting from here. */
  number?: { start: number; step: number; min: number; max: number };
  /** Free text. */
  text?: true;
  optional?: boolean;
}

/** The answers so far, by field. */
export type Answers = { [field: string]: string | number | boolean | undefined };

/** What the questions may draw on beside the kind. */
export interface Setting {
  causes: readonly { id: string; title: string }[];
  energy_j: number;
  drug?: string;
}

const words = (prefix: string, ids: readonly string[]): Option[] =>
  ids.map((id) => ({ value: id, label: word(prefix, id) }));

/** The rhythms in the order of their buttons. */
export const RHYTHMS = ['vf', 'pulseless_vt', 'pea', 'asystole', 'perfusing', 'bradycardia', 'unknown'] as const;
/** Rhythms that could carry a pulse: only after these is it asked for. */
export const ORGANISED: readonly string[] = ['perfusing', 'bradycardia'];
const AIRWAYS = ['bag_mask', 'supraglottic', 'tracheal', 'front_of_neck'];
const REASONS = [
  'rhythm_check', 'pulse_check', 'shock', 'airway', 'compressor_change', 'breaths', 'access', 'device', 'ultrasound',
  'moving', 'rosc', 'other',
];
/** Drugs beside those of the protocol that teams give in a code; ids only, no doses are proposed. */
export const DRUGS = [
  'epinephrine', 'amiodarone', 'lidocaine', 'calcium_chloride', 'calcium_gluconate', 'sodium_bicarbonate',
  'magnesium_sulfate', 'atropine', 'naloxone', 'glucose', 'lipid_emulsion', 'alteplase', 'tenecteplase',
  'norepinephrine', 'vasopressin', 'fluid', 'blood',
];
const ENERGIES = [120, 150, 170, 200, 300, 360];
const VITALS = ['spo2_pct', 'systolic_mmhg', 'temp_c', 'glucose_mmol_l', 'paco2_mmhg'];
const CIRCUMSTANCES = [
  'pregnancy', 'hypothermia', 'opioid', 'hyperkalaemia', 'drowning', 'anaphylaxis', 'trauma', 'pulmonary_embolism',
  'local_anaesthetic',
];

/** What is still to be asked. */
export function questions(kind: Kind, answers: Answers, setting: Setting): Question[] {
  const ask = (field: string, options: Option[], optional = false): Question => ({
    field,
    title: t(`ask.${field}` as Key),
    options,
    optional,
  });
  const routes = words('route', ['iv', 'io']);
  switch (kind) {
    case 'compressions_started':
      return [ask('by', words('by', ['manual', 'mechanical']))];
    case 'compressions_stopped':
      return [ask('reason', words('reason', REASONS))];
    case 'pause_reason':
      return [{ ...ask('reason', words('reason', REASONS)), title: t('ask.pause_reason') }];
    case 'pads_attached':
      return [ask('position', words('position', ['anterolateral', 'anteroposterior', 'unknown']))];
    case 'pulse_finger_placed':
      return [ask('site', words('site', ['carotid', 'femoral', 'brachial']), true)];
    case 'rhythm_checked': {
      const rhythm = ask('rhythm', RHYTHMS.map((id) => {
        const option: Option = { value: id, label: t(`rhythm.${id}`) };
        return ORGANISED.includes(id) ? { ...option, more: t('rhythm.perfusing.more') } : option;
      }));
      const organised = typeof answers['rhythm'] === 'string' && ORGANISED.includes(answers['rhythm']);
      return organised ? [rhythm, ask('pulse', words('pulse', ['present', 'absent', 'not_checked']))] : [rhythm];
    }
    case 'shock_delivered':
    case 'charging_started':
      return [ask('energy_j', ENERGIES.map((energy) => ({ value: energy, label: `${energy}` })), kind !== 'shock_delivered')];
    case 'shock_aborted':
      return [
        { ...ask('reason', words('abort', ['rhythm_changed', 'someone_touching', 'device_fault', 'other'])), title: t('ask.abort') },
      ];
    case 'drug_prepared':
    case 'drug_given': {
      const drug = ask('drug', words('drug', DRUGS));
      const dose: Question = {
        field: 'dose_mg',
        title: t('ask.dose_mg'),
        number: { start: 0, step: 1, min: 0, max: 5000 },
        optional: true,
      };
      return kind === 'drug_prepared'
        ? [drug, dose]
        : [drug, dose, ask('route', words('route', ['iv', 'io', 'im', 'tracheal', 'intranasal', 'other']))];
    }
    case 'access_gained':
    case 'access_failed':
    case 'access_lost':
      return [ask('route', routes)];
    case 'airway_placed':
      return [
        ask('airway', words('airway', AIRWAYS)),
        ...(answers['airway'] === 'bag_mask'
          ? []
          : [{ ...ask('capno', [{ value: true, label: t('yes') }, { value: false, label: t('no') }], true) }]),
      ];
    case 'airway_attempted':
    case 'airway_removed':
      return [ask('airway', words('airway', AIRWAYS))];
    case 'breaths_given':
      return [ask('count', [1, 2, 5].map((count) => ({ value: count, label: `${count}` })))];
    case 'etco2_read':
      return [{ field: 'mmhg', title: t('ask.mmhg'), number: { start: 15, step: 1, min: 0, max: 150 } }];
    case 'vital_read':
      return [
        ask('vital', words('vital', VITALS)),
        { field: 'value', title: t('ask.value'), number: vitalPad(answers['vital']) },
      ];
    case 'patient_updated':
      return [
        { field: 'weight_kg', title: t('ask.weight_kg'), number: { start: 70, step: 1, min: 1, max: 400 } },
        ask('weight_basis', words('weight_basis', ['measured', 'length', 'age', 'told'])),
      ];
    case 'cause_considered':
    case 'cause_treated':
      return [ask('cause', setting.causes.map((cause) => ({ value: cause.id, label: cause.title })))];
    case 'circumstance_set':
      return [{ field: 'name', title: t('ask.circumstance'), options: words('circumstance', CIRCUMSTANCES) }];
    case 'code_closed':
      return [ask('outcome', words('outcome', ['survived_event', 'died', 'transferred', 'not_an_arrest', 'treatment_limit', 'ecmo']))];
    case 'note':
      return [{ field: 'text', title: t('ask.text'), text: true }];
    case 'moved':
      return [{ field: 'location', title: t('ask.location'), text: true }];
    default:
      return [];
  }
}

function vitalPad(vital: Answers[string]): NonNullable<Question['number']> {
  switch (vital) {
    case 'spo2_pct':
      return { start: 94, step: 1, min: 0, max: 100 };
    case 'temp_c':
      return { start: 36, step: 0.1, min: 10, max: 45 };
    case 'glucose_mmol_l':
      return { start: 6, step: 0.1, min: 0, max: 100 };
    case 'paco2_mmhg':
      return { start: 40, step: 1, min: 0, max: 200 };
    default:
      return { start: 100, step: 1, min: 0, max: 350 };
  }
}

/** The event that the answers make. */
export function build(kind: Kind, answers: Answers): Event {
  const { dose_mg, capno, vital, value, ...rest } = answers;
  const fields: { [field: string]: unknown } = { kind };
  for (const [field, answer] of Object.entries(rest)) if (answer !== undefined) fields[field] = answer;
  if (typeof dose_mg === 'number' && dose_mg > 0) fields['dose'] = { value: dose_mg, unit: 'mg' };
  if (kind === 'drug_given') fields['form'] = 'bolus';
  if (kind === 'shock_delivered') fields['double'] = false;
  if (kind === 'rhythm_checked') fields['pulse'] ??= 'not_checked';
  if (kind === 'circumstance_set') fields['on'] = true;
  if (typeof capno === 'boolean') fields['confirmed_by_capnography'] = capno;
  if (vital === 'paco2_mmhg') {
    return { kind: 'lab_read', paco2_mmhg: Number(value) };
  }
  if (typeof vital === 'string') fields[vital] = value;
  return fields as unknown as Event;
}
