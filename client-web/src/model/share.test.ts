//! However small the team, every role is somebody's, and nobody is given the chest and the lead.
import { expect, test } from 'vitest';
import type { Role, RosterEntry } from '../wire/generated';
import { shared } from './share';

const ROLES: Role[] = ['leader', 'compressor', 'relief', 'airway', 'drugs', 'defibrillator', 'recorder'];
const device = (name: string, roles: Role[] = [], connected = true): RosterEntry => ({ device: name, name, roles, connected }) as RosterEntry;

test.each([2, 3, 4, 5, 6, 7, 9])('among %i devices every role is given once', (count) => {
  const roster = Array.from({ length: count }, (_, place) => device(`d${place}`));
  const given = shared(roster, 'd0');
  expect(given.map((one) => one.role).sort()).toEqual([...ROLES].sort());
  const of = (role: Role): string | undefined => given.find((one) => one.role === role)?.device;
  expect(of('leader')).toBe('d0');
  expect(of('compressor')).not.toBe(of('leader'));
  expect(of('relief')).not.toBe(of('compressor'));
});

test('who has a role keeps it, and takes what lies beside it', () => {
  const given = shared([device('a', ['compressor']), device('b', ['leader'])], 'a');
  expect(given.filter((one) => one.device === 'a').map((one) => one.role)).toEqual(['airway']);
  expect(given.some((one) => one.role === 'leader' || one.role === 'compressor')).toBe(false);
});

test('a device alone, or one without a link, is given nothing', () => {
  expect(shared([device('a')], 'a')).toEqual([]);
  expect(shared([device('a'), device('b', [], false)], 'a')).toEqual([]);
});
