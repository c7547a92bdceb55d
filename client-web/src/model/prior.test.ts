import { describe, expect, it } from 'vitest';
import { doseOnTheClock } from './prior';

describe('a dose told on standby', () => {
  // Told at server time 1 000 000 as "3 minutes ago", recorded as -180 000.
  const told = { code: 'a', given_server_ms: 820_000 };

  it('counts from the clock once it starts: two minutes of standby make it five minutes ago', () => {
    expect(doseOnTheClock(told, 'a', 1_120_000, -180_000)).toBe(-300_000);
  });
  it('lies within the arrest where that was recognised before the dose', () => {
    expect(doseOnTheClock(told, 'a', 700_000, -180_000)).toBe(120_000);
  });
  it('says nothing on standby, in another code, or where the record is right', () => {
    expect(doseOnTheClock(told, 'a', null, -180_000)).toBeNull();
    expect(doseOnTheClock(told, 'b', 1_120_000, -180_000)).toBeNull();
    expect(doseOnTheClock(told, 'a', 1_000_400, -180_000)).toBeNull();
  });
});
