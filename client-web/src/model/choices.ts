//! What has to be asked before an event can be recorded: one list of questions a kind, answered by big buttons. It
//! builds events and knows no screen.
import { said, t, word, type Key } from '../text';
import type { AgeGroup, Event } from '../wire/generated';
import { circumstanceChoices, fits, type CircumstanceChoice } from './patient';
import { doseText } from './speak';
import type { Particulars } from './tasks';
import { doseUnit, type QuantityName } from './units';

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
  /** A number pad for this quantity. It starts empty: nothing is proposed that nobody read. */
  number?: QuantityName;
  /** The unit that the pad starts with, by its place; null: none, somebody has to say which. */
  unit?: number | null;
  /** What the task asks for, as an answer of one tap. */
  offers?: Option[];
  /** Free text. */
  text?: true;
  optional?: boolean;
}

/** The answers so far, by field. */
export type Answers = { [field: string]: string | number | boolean | undefined };

/** What the questions may draw on beside the kind. */
export interface Setting {
  /** A fact on record is given other content: it stays of its kind. */
  amends?: boolean;
  causes: readonly { id: string; title: string }[];
  circumstances: readonly CircumstanceChoice[];
  protocols: readonly { id: string; title: string; version: number; age_group: AgeGroup }[];
  age_group: AgeGroup;
  /** The energy chosen or planned; null where nobody knows it. */
  energy_j: number | null;
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
  'norepinephrine', 'vasopressin', 'insulin', 'glucose_10', 'fluid', 'blood',
];
const ENERGIES = [120, 150, 170, 200, 300, 360];
const VITALS = ['spo2_pct', 'systolic_mmhg', 'temp_c', 'glucose_mmol_l'] as const;
const LABS = ['paco2_mmhg', 'potassium_mmol_l', 'lactate_mmol_l', 'ph'] as const;
/** What may be said of the patient, each by itself. */
const DETAILS = ['weight', 'age', 'gestation', 'age_group', 'sex'];

/** Drugs whose dose is told as a volume; of those of a protocol's own lines, in mg. Of any other somebody says the unit. */
const BY_VOLUME: readonly string[] = ['fluid', 'blood', 'lipid_emulsion', 'glucose_10'];
const BY_MG: readonly string[] = ['epinephrine', 'amiodarone', 'lidocaine'];

/** How much of it: a number with the unit that was said. Where a task names an amount, that is one tap. */
function doseQuestion(drug: Answers[string], task: Particulars | undefined): Question {
  const amount = task?.drug === drug ? (task?.dose ?? task?.volume) : undefined;
  const asked = amount === undefined ? [] : [amount];
  const usual = BY_VOLUME.includes(String(drug)) ? 'mL' : BY_MG.includes(String(drug)) ? 'mg' : undefined;
  return {
    field: 'dose',
    title: t('ask.dose'),
    number: 'dose',
    unit: doseUnit(asked[0]?.unit ?? usual),
    offers: asked.map((one) => ({ value: `${one.value} ${one.unit}`, label: doseText(one) })),
    optional: true,
  };
}

/** What is still to be asked; `task` has the particulars of the task that it answers, if one does. */
export function questions(kind: Kind, answers: Answers, setting: Setting, task?: Particulars): Question[] {
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
      return setting.age_group === 'adult'
        ? [ask('energy_j', ENERGIES.map((energy) => ({ value: energy, label: `${energy}` })), kind !== 'shock_delivered')]
        : [{ field: 'energy_j', title: t('ask.energy_j'), number: 'energy_j', optional: kind !== 'shock_delivered' }];
    case 'shock_aborted':
      return [
        { ...ask('reason', words('abort', ['rhythm_changed', 'someone_touching', 'device_fault', 'other'])), title: t('ask.abort') },
      ];
    case 'drug_prepared':
    case 'drug_given': {
      const drug = ask('drug', words('drug', DRUGS));
      const dose = doseQuestion(answers['drug'], task);
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
      return [{ field: 'mmhg', title: t('ask.mmhg'), number: 'etco2_mmhg' }];
    case 'vital_read':
      return readingQuestions(setting.amends ? VITALS : [...VITALS, ...LABS], answers['vital']);
    case 'lab_read':
      return readingQuestions(LABS, answers['vital']);
    case 'patient_updated':
      return [ask('detail', words('detail', DETAILS)), ...detailQuestions(answers['detail'])];
    case 'cause_considered':
    case 'cause_treated':
      return [ask('cause', setting.causes.map((cause) => ({ value: cause.id, label: said(cause.title) })))];
    case 'circumstance_set':
      return [
        {
          field: 'name',
          title: t('ask.circumstance'),
          options: circumstanceChoices(setting.circumstances, []).map(({ id, title }) => ({ value: id, label: title })),
        },
        ask('on', [{ value: true, label: t('circumstance.on') }, { value: false, label: t('circumstance.off') }]),
      ];
    case 'protocol_changed':
      return [
        {
          field: 'protocol',
          title: t('ask.protocol'),
          options: setting.protocols
            .filter((one) => fits(one.age_group, setting.age_group))
            .map((one) => ({ value: `${one.id} ${one.version}`, label: said(one.title) })),
        },
        ask('why', ['age', 'guideline', 'other'].map((id) => ({ value: word('protocol_reason', id), label: word('protocol_reason', id) }))),
      ];
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

/** Which reading, then its number; a pressure has two, a temperature says where it was taken. */
function readingQuestions(offered: readonly QuantityName[], vital: Answers[string]): Question[] {
  const which: Question = { field: 'vital', title: t('ask.vital'), options: words('vital', offered) };
  if (typeof vital !== 'string') return [which];
  const value: Question = { field: 'value', title: word('vital', vital), number: vital as QuantityName };
  if (vital === 'systolic_mmhg') {
    return [which, value, { field: 'diastolic_mmhg', title: t('vital.diastolic_mmhg'), number: 'diastolic_mmhg', optional: true }];
  }
  if (vital === 'temp_c') {
    return [which, value, { field: 'temp_site', title: t('ask.temp_site'), options: words('temp_site', ['core', 'other']) }];
  }
  return [which, value];
}

function detailQuestions(detail: Answers[string]): Question[] {
  switch (detail) {
    case 'weight':
      return [
        { field: 'weight_kg', title: t('detail.weight'), number: 'weight_kg' },
        { field: 'weight_basis', title: t('ask.weight_basis'), options: words('weight_basis', ['measured', 'length', 'told']) },
      ];
    case 'age':
      return [{ field: 'age_months', title: t('detail.age'), number: 'age_months' }];
    case 'gestation':
      return [{ field: 'gestation_weeks', title: t('detail.gestation'), number: 'gestation_weeks' }];
    case 'age_group':
      return [{ field: 'age_group', title: t('detail.age_group'), options: words('age', ['adult', 'child', 'infant']) }];
    case 'sex':
      return [{ field: 'sex', title: t('detail.sex'), options: words('sex', ['female', 'male', 'unknown']) }];
    default:
      return [];
  }
}

/** What says something of another field only, and is not kept where that one changes. */
const SAID_OF: readonly (readonly [field: string, of: string])[] = [
  ['dose', 'drug'], ['site', 'route'], ['confirmed_by_capnography', 'airway'], ['cpr_ongoing', 'outcome'], ['pulse', 'rhythm'], ['weight_basis', 'weight_kg'],
];

/** A fact with other content, as a correction: what was not asked anew stays as it was, be it an infusion or a second reading. */
export function amended(was: Event, answers: Answers): Event {
  const { kind, ...now } = build(was.kind, answers) as unknown as Answers & { kind: Kind };
  if (kind !== was.kind) return { kind, ...now } as unknown as Event;
  const kept: Answers = { ...(was as unknown as Answers) };
  for (const [field, of] of SAID_OF) if (now[of] !== undefined && now[of] !== kept[of]) delete kept[field];
  // What `build` fills in is no answer.
  for (const field of ['form', 'double']) if (field in kept) delete now[field];
  return { ...kept, ...now } as unknown as Event;
}

/** The event that the answers make. */
export function build(kind: Kind, answers: Answers): Event {
  const { dose, capno, vital, value, detail: _, protocol, why, ...rest } = answers;
  const fields: { [field: string]: unknown } = { kind };
  for (const [field, answer] of Object.entries(rest)) if (answer !== undefined) fields[field] = answer;
  if (typeof dose === 'string') {
    const [amount, unit] = dose.split(' ');
    fields['dose'] = { value: Number(amount), unit };
  }
  if (kind === 'drug_given') fields['form'] = 'bolus';
  if (kind === 'shock_delivered') fields['double'] = false;
  if (kind === 'rhythm_checked') fields['pulse'] ??= 'not_checked';
  if (kind === 'circumstance_set') fields['on'] ??= true;
  if (typeof capno === 'boolean') fields['confirmed_by_capnography'] = capno;
  if (typeof protocol === 'string') {
    const [id, version] = protocol.split(' ');
    fields['protocol'] = { id, version: Number(version) };
    fields['reason'] = String(why ?? '');
  }
  if (typeof vital === 'string') {
    fields['kind'] = (LABS as readonly string[]).includes(vital) ? 'lab_read' : 'vital_read';
    fields[vital] = value;
  }
  return fields as unknown as Event;
}
