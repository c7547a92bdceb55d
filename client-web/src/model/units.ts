//! Units that people read off a scale, a strip or a laboratory sheet, turned into the ones the record keeps. A screen shows
//! both numbers before anything is saved, by the rules of its language.
import { t, type Key } from '../text';
import { amount } from './format';

/** Kilograms in a pound: exact by definition (international avoirdupois pound, 1959). */
const KG_PER_LB = 0.45359237;
/** Millimetres of mercury in a kilopascal: 101.325 kPa are 760 mmHg. */
const MMHG_PER_KPA = 7.50062;
/** mg/dL of glucose in a mmol/L: its molar mass is 180.16 g/mol. */
const MG_DL_PER_MMOL_L = 18.016;
const MONTHS_PER_YEAR = 12;

/** A unit in which a number can be typed. Ranges are of possibility, as the server takes them, not of sense. */
export interface Unit {
  /** Its sign, or an English word that stands for it; on the screen it stands as `signOf` gives it. */
  sign: string;
  /** The label that stands for it where it is a word and not a sign. */
  label?: Key;
  decimals: number;
  /** Its code on the record (UCUM), where the record keeps the unit that was said and not one of ours: doses. */
  code?: string;
  min: number;
  max: number;
  /** Into the unit that the record keeps. */
  kept: (value: number) => number;
}

/** A quantity: the unit that the record keeps, first, and the others in which it may be typed. */
export interface Quantity {
  units: readonly [Unit, ...Unit[]];
}

const rounded = (value: number, decimals: number): number => {
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale;
};
/** A unit of a dose: what was said is kept, never turned into another unit. Its sign is a word where a sign is misread. */
const said = (code: string, sign: string, decimals: number, label?: Key): Unit => ({
  sign, code, decimals, min: 10 ** -decimals, max: 100_000, kept: (value) => value, ...(label && { label }),
});
const plain = (sign: string, decimals: number, min: number, max: number, label?: Key): Unit => ({
  sign, decimals, min, max, kept: (value) => value, ...(label && { label }),
});

/** A unit as it stands on the screen: `mg`, or a word of this device's language. */
export const signOf = (unit: Unit): string => (unit.label === undefined ? unit.sign : t(unit.label));

/** Pounds to kilograms, to 10 g. */
export const kgOfLb = (lb: number): number => rounded(lb * KG_PER_LB, 2);
/** Kilopascals to mmHg, to a tenth. */
export const mmhgOfKpa = (kpa: number): number => rounded(kpa * MMHG_PER_KPA, 1);
/** Glucose in mg/dL to mmol/L, to a tenth. */
export const mmolOfMgDl = (mg_dl: number): number => rounded(mg_dl / MG_DL_PER_MMOL_L, 1);

/** What can be typed on the number pad. */
export const QUANTITIES = {
  weight_kg: { units: [plain('kg', 2, 0.2, 650), { sign: 'lb', decimals: 1, min: 0.5, max: 1400, kept: kgOfLb }] },
  age_months: {
    units: [plain('months', 0, 0, 1560, 'unit.months'), { ...plain('years', 0, 0, 130, 'unit.years'), kept: (years) => years * MONTHS_PER_YEAR }],
  },
  gestation_weeks: { units: [plain('weeks', 0, 1, 45, 'unit.weeks')] },
  temp_c: { units: [plain('°C', 1, 5, 47)] },
  spo2_pct: { units: [plain('%', 0, 0, 100)] },
  systolic_mmhg: { units: [plain('mmHg', 0, 0, 400)] },
  diastolic_mmhg: { units: [plain('mmHg', 0, 0, 400)] },
  glucose_mmol_l: { units: [plain('mmol/L', 1, 0, 200), { sign: 'mg/dL', decimals: 0, min: 0, max: 3600, kept: mmolOfMgDl }] },
  paco2_mmhg: { units: [plain('mmHg', 0, 0, 300), { sign: 'kPa', decimals: 1, min: 0, max: 39, kept: mmhgOfKpa }] },
  potassium_mmol_l: { units: [plain('mmol/L', 1, 0, 30)] },
  lactate_mmol_l: { units: [plain('mmol/L', 1, 0, 60)] },
  ph: { units: [plain('', 2, 6, 8.5)] },
  etco2_mmhg: { units: [plain('mmHg', 0, 0, 300), { sign: 'kPa', decimals: 1, min: 0, max: 39, kept: mmhgOfKpa }] },
  energy_j: { units: [plain('J', 0, 1, 1000)] },
  dose: {
    units: [said('mg', 'mg', 3), said('ug', 'microgram', 1, 'unit.microgram'), said('mL', 'mL', 2), said('g', 'g', 2), said('mmol', 'mmol', 1), said('[iU]', 'units', 1, 'unit.units')],
  },
} as const satisfies { [name: string]: Quantity };

/** A quantity's name. */
export type QuantityName = keyof typeof QUANTITIES;

/** The place of a dose's unit among those that can be chosen, by its code; null where it is none of them. */
export function doseUnit(code: string | undefined): number | null {
  const place = QUANTITIES.dose.units.findIndex((one) => one.code === code);
  return place < 0 ? null : place;
}

/** Whether a number can be one of this unit; what was typed is never moved into the range. */
export const possible = (value: number | null, unit: Unit): value is number =>
  value !== null && Number.isFinite(value) && value >= unit.min && value <= unit.max;

/** What was typed and what is kept: `31 lb = 14.06 kg`, or `14 kg` where both are the same. */
export function bothUnits(value: number, unit: Unit, quantity: Quantity): string {
  const keeps = quantity.units[0];
  const typed = `${amount(value)} ${signOf(unit)}`.trim();
  // What is kept as it was said has no second number: 400 microgram are not 400 of the first unit.
  return unit.sign === keeps.sign || unit.code !== undefined ? typed : `${typed} = ${amount(rounded(unit.kept(value), 3))} ${signOf(keeps)}`;
}

/** One more key of the pad: digits, a point where the unit has decimals, ⌫; null where the key changes nothing. */
export function typing(typed: string, key: string, decimals: number): string | null {
  if (key === '⌫') return typed.slice(0, -1);
  if (key === '.') return decimals > 0 && !typed.includes('.') ? `${typed || '0'}.` : null;
  if (!/^\d$/.test(key)) return null;
  const next = typed === '0' ? key : typed + key;
  const [whole = '', part = ''] = next.split('.');
  return whole.length <= 6 && part.length <= decimals ? next : null;
}

/** The number that was typed; null while there is none. */
export const typedNumber = (typed: string): number | null => (typed === '' || typed === '.' ? null : Number(typed));
