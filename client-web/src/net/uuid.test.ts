//! RFC 9562 section 5.7: the form of a version 7 id, and the order of ids made on one device.
import { expect, test } from 'vitest';
import { uuidMaker } from './uuid';

test('the form: version 7, variant 10, the time in front', () => {
  // RFC 9562 appendix A.6: 0x017F22E279B0 is Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00.
  const id = uuidMaker(() => 0x017f22e279b0)();
  expect(id).toMatch(/^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
});

test('ids sort in the order in which they were made, also if the wall clock stands still or goes back', () => {
  const walls = [...Array<number>(6000).fill(1000), 900, 800, 2000];
  let index = 0;
  const next = uuidMaker(() => walls[index++] ?? 3000);
  const ids = Array.from(walls, () => next());
  expect([...ids].sort()).toEqual(ids);
  expect(new Set(ids).size).toBe(ids.length);
});
