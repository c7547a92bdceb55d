//! What is known of the patient and of the protocols that fit, in words for the screens. Pure; it never computes a dose.
import { said, t, word } from '../text';
import type { AgeGroup, Circumstance, Note, PatientView, Prompt, TargetLine } from '../wire/generated';
import { amount } from './format';

/** `14 kg, estimated`: a weight never stands without where it comes from. Null while there is none. */
export function weightText(patient: Pick<PatientView, 'weight_kg' | 'weight_basis'>): string | null {
  if (patient.weight_kg === undefined) return null;
  const basis = patient.weight_basis === undefined ? t('weight.basis.unknown') : t(`weight.basis.${patient.weight_basis}`);
  return `${amount(patient.weight_kg)} kg, ${basis}`;
}

/** `7 months`, `3 years`: whole years from the second birthday on. */
export function ageText(months: number): string {
  if (months < 24) return t('patient.months', { count: months });
  return t('patient.years', { count: Math.floor(months / 12) });
}

/** Whether a protocol for `of` is one for a patient in `age`: a child's covers infants. */
export function fits(of: AgeGroup, age: AgeGroup): boolean {
  return of === age || (of === 'child' && age === 'infant');
}

/** Circumstances that are always offered, in this order; a protocol may list others. */
export const CIRCUMSTANCES = [
  'pregnancy', 'hypothermia', 'opioid', 'hyperkalaemia', 'drowning', 'anaphylaxis', 'trauma', 'pulmonary_embolism',
  'local_anaesthetic',
] as const;
/** Set elsewhere: with the defibrillator, and with the ending. */
const ELSEWHERE: readonly string[] = ['monophasic_defibrillator', 'treatment_limit'];

/** A circumstance as a button. */
export interface CircumstanceChoice {
  id: Circumstance;
  title: string;
}

/** What can be chosen: the protocol's list, else the known ones; and whatever is set beside them, so that it can be cleared. */
export function circumstanceChoices(listed: readonly CircumstanceChoice[], set: readonly Circumstance[]): CircumstanceChoice[] {
  const base = listed.length > 0 ? listed.map(({ id, title }) => ({ id, title: said(title) })) : CIRCUMSTANCES.map((id) => ({ id, title: word('circumstance', id) }));
  const known = base.filter((one) => !ELSEWHERE.includes(one.id));
  const more = set.filter((id) => !ELSEWHERE.includes(id) && !known.some((one) => one.id === id));
  return [...known, ...more.map((id) => ({ id, title: word('circumstance', id) }))];
}

/** The record on which a prompt hangs: what stands between `@` and a suffix. */
export function anchorOf(key: string): string {
  return /@([^:]*)/.exec(key)?.[1] ?? '';
}

/** Readings by whose name a department may call a target of its own, such as `lactate`. */
const READINGS = ['lactate_mmol_l', 'potassium_mmol_l', 'ph', 'paco2_mmhg', 'spo2_pct', 'temp_c'] as const;

/**
 * The reading that a target of aftercare asks for; null where there is nothing to read. Undefined for a line of a department's
 * own, of which only the server knows what is read: then the screen asks which reading it is, and takes a tick as well.
 */
export function readingOf(target: string): string | null | undefined {
  switch (target) {
    case 'oxygen':
      return 'spo2_pct';
    case 'carbon_dioxide':
      return 'paco2_mmhg';
    case 'blood_pressure':
      return 'systolic_mmhg';
    case 'temperature':
      return 'temp_c';
    case 'glucose':
      return 'glucose_mmol_l';
    case 'ecg_12_lead':
      return null;
    default:
      return READINGS.find((name) => name === target || name.startsWith(`${target}_`));
  }
}

/** What a task asks to be recorded, where that needs a value or a choice, by the kinds that do it; null: a tick is enough. */
export function sheetFor(prompt: Pick<Prompt, 'done_by' | 'detail'>): { kind: 'vital_read' | 'airway_placed' | 'breaths_given' | 'drug_given'; preset: { [field: string]: string } } | null {
  const does = (kind: string): boolean => prompt.done_by.includes(kind);
  if (does('drug_given')) return { kind: 'drug_given', preset: prompt.detail.drug === undefined ? {} : { drug: prompt.detail.drug } };
  if (does('vital_read') || does('patient_updated')) return { kind: 'vital_read', preset: { vital: 'temp_c' } };
  if (does('airway_placed')) return { kind: 'airway_placed', preset: {} };
  if (does('breaths_given')) return { kind: 'breaths_given', preset: {} };
  return null;
}

/** Of a prompt for aftercare, the target's word: the suffix of its key. */
export function targetOf(prompt: Pick<Prompt, 'key'>): string {
  return /:(.*)$/.exec(prompt.key)?.[1] ?? '';
}

/** What a task of aftercare is answered with beside a tick: the sheet for its reading; null where there is none. */
export function readingSheet(target: string): { kind: 'vital_read'; preset: { [field: string]: string } } | null {
  const vital = readingOf(target);
  return vital === null ? null : { kind: 'vital_read', preset: vital === undefined ? {} : { vital } };
}

/** How a target stands: its shape and word on the screen. */
export function standing(line: Pick<TargetLine, 'within' | 'reading' | 'at_ms'>): 'within' | 'outside' | 'read' | 'open' {
  if (line.within !== undefined) return line.within ? 'within' : 'outside';
  return line.reading !== undefined || line.at_ms !== undefined ? 'read' : 'open';
}

/** Notes that stand open, and those that fold away. What contradicts or withholds is never folded. */
export function sortNotes(notes: readonly Note[]): { open: Note[]; folded: Note[] } {
  const grave = (note: Note): boolean => note.kind === 'conflict' || note.kind === 'withheld';
  return { open: notes.filter(grave), folded: notes.filter((note) => !grave(note)) };
}
