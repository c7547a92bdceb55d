//! After a move: who may have stayed behind, and whose roles somebody else has here.
import { expect, test } from 'vitest';
import type { Event, Record as TimelineRecord, Role, RosterEntry } from '../wire/generated';
import { beforeTheMove } from './handover';

const record = (seq: number, event: Event): TimelineRecord => ({
  seq, id: `r${seq}`, code: 'c', at_ms: seq * 1000, recorded_at: '', by: { device: 'x', name: 'x', roles: [] }, source: 'live', event,
});
const given = (seq: number, device: string, role: Role): TimelineRecord => record(seq, { kind: 'role_assigned', role, device });
const device = (id: string, roles: Role[], connected = true): RosterEntry => ({ device: id, name: id, roles, connected });
const timeline = [
  given(1, 'old lead', 'leader'), given(2, 'old drugs', 'drugs'), given(3, 'old chest', 'compressor'),
  record(4, { kind: 'moved', location: 'ICU 3' }),
  given(5, 'new lead', 'leader'), given(6, 'new drugs', 'drugs'),
];
const roster = [
  device('old lead', ['leader']), device('old drugs', ['drugs']), device('old chest', ['compressor']), device('new lead', ['leader']), device('new drugs', ['drugs']),
];

test('nobody moved: nobody stayed behind', () => expect(beforeTheMove(timeline.slice(0, 3), roster, 'old lead')).toBeNull());

test('from the new place, whose roles are had twice, and whose are not', () => {
  const found = beforeTheMove(timeline, roster, 'new lead');
  expect(found?.location).toBe('ICU 3');
  expect(found?.devices.map((one) => [one.name, one.doubled])).toEqual([['old lead', true], ['old drugs', true], ['old chest', false]]);
});

test('the device in the hand came along, and a role given since says that another did', () => {
  const found = beforeTheMove([...timeline, given(7, 'old chest', 'compressor')], roster, 'old lead');
  expect(found?.devices.map((one) => one.name)).toEqual(['old drugs']);
});

test('a device out of reach takes over nothing', () => {
  const silent = roster.map((one) => (one.device === 'new drugs' ? { ...one, connected: false } : one));
  expect(beforeTheMove(timeline, silent, 'new lead')?.devices.find((one) => one.name === 'old drugs')?.doubled).toBe(false);
});

test('a move that was struck out is none', () => {
  const struck = [...timeline, record(8, { kind: 'voided', target: 'r4', reason: 'by mistake' })];
  expect(beforeTheMove(struck, roster, 'new lead')).toBeNull();
});
