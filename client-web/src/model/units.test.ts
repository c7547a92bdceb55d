//! Unit conversions against values from outside, and the number pad.
import { describe, expect, test } from 'vitest';
import { bothUnits, kgOfLb, mmhgOfKpa, mmolOfMgDl, possible, QUANTITIES, typedNumber, typing } from './units';

describe('pounds to kilograms', () => {
  // NIST Handbook 44, Appendix C: 1 lb = 0.453 592 37 kg exactly; 1 stone = 14 lb = 6.350 293 18 kg.
  test.each([[1, 0.45], [14, 6.35], [22, 9.98], [31, 14.06], [100, 45.36], [220.5, 100.02]])('%f lb are %f kg', (lb, kg) =>
    expect(kgOfLb(lb)).toBe(kg));
});

describe('kilopascals to mmHg', () => {
  // The range of clinical sources S81 as published in both units: 4.5 to 6.0 kPa, 34 to 45 mmHg (35 to 45 under AHA).
  test.each([[4.5, 33.8], [6, 45], [101.325, 760]])('%f kPa are %f mmHg', (kpa, mmhg) => expect(mmhgOfKpa(kpa)).toBe(mmhg));
});

describe('glucose mg/dL to mmol/L', () => {
  // WHO diagnostic cut-offs are published in both units: 126 mg/dL = 7.0 mmol/L, 200 mg/dL = 11.1 mmol/L (from memory).
  test.each([[126, 7], [200, 11.1], [180, 10], [70, 3.9]])('%i mg/dL are %f mmol/L', (mg_dl, mmol_l) => expect(mmolOfMgDl(mg_dl)).toBe(mmol_l));
});

describe('what is shown before it is saved', () => {
  const weight = QUANTITIES.weight_kg;
  test('both numbers where the unit is another', () => {
    expect(bothUnits(31, weight.units[1], weight)).toBe('31 lb = 14.06 kg');
    expect(bothUnits(14, weight.units[0], weight)).toBe('14 kg');
    expect(bothUnits(5.2, QUANTITIES.paco2_mmhg.units[1], QUANTITIES.paco2_mmhg)).toBe('5.2 kPa = 39 mmHg');
    expect(bothUnits(3, QUANTITIES.age_months.units[1], QUANTITIES.age_months)).toBe('3 years = 36 months');
  });
  test('a dose stands as it was said, in one unit', () => {
    for (const unit of QUANTITIES.dose.units) expect(bothUnits(400, unit, QUANTITIES.dose)).toBe(`400 ${unit.sign}`);
  });
  test('what cannot be is not taken, and not moved into the range', () => {
    expect(possible(1000, weight.units[0])).toBe(false);
    expect(possible(null, weight.units[0])).toBe(false);
    expect(possible(0, weight.units[0])).toBe(false);
    expect(possible(3.4, weight.units[0])).toBe(true);
  });
});

describe('the number pad', () => {
  const type = (keys: string, decimals: number): string => [...keys].reduce((typed, key) => typing(typed, key, decimals) ?? typed, '');
  test.each([
    ['14', 1, '14'], ['3.45', 2, '3.45'], ['3.456', 2, '3.45'], ['.5', 1, '0.5'], ['1.2.3', 2, '1.23'], ['12.5', 0, '125'],
    ['007', 0, '7'], ['12⌫', 0, '1'], ['1⌫⌫', 0, ''],
  ])('%s with %i decimals reads %s', (keys, decimals, text) => expect(type(keys, decimals)).toBe(text));
  test('nothing typed is no number, not zero', () => {
    expect(typedNumber('')).toBeNull();
    expect(typedNumber('0')).toBe(0);
  });
});
