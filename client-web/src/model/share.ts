//! Who takes which roles where the team is small: a proposal for the roles that nobody holds. Pure; the leader gives them.
import type { Role, RosterEntry } from '../wire/generated';

/**
 * By the number of devices, which roles lie together: whoever compresses has the least to read and only the breaths beside it
 * (at 30:2 nobody else's hands are free for them); who leads a very small team has the defibrillator and the drugs before them and takes over
 * the chest at the next change. Common practice, no source; ours.
 */
const TOGETHER: readonly (readonly (readonly Role[])[])[] = [
  [['leader', 'relief', 'drugs', 'defibrillator', 'recorder'], ['compressor', 'airway']],
  [['leader', 'drugs', 'recorder'], ['compressor'], ['relief', 'airway', 'defibrillator']],
  [['leader', 'recorder'], ['compressor'], ['relief', 'airway'], ['drugs', 'defibrillator']],
  [['leader', 'recorder'], ['compressor'], ['relief', 'airway'], ['drugs'], ['defibrillator']],
  [['leader', 'recorder'], ['compressor'], ['relief'], ['airway'], ['drugs'], ['defibrillator']],
  [['leader'], ['compressor'], ['relief'], ['airway'], ['drugs'], ['defibrillator'], ['recorder']],
];

/** A role for a device. */
export interface Given {
  role: Role;
  device: string;
}

/**
 * The roles that nobody holds, shared among the linked devices: each to the device that holds most of the roles beside which it
 * lies, and no more to one that has its share. Empty where there is nothing to share, or nobody to share with.
 */
export function shared(roster: readonly RosterEntry[], own: string | undefined): Given[] {
  const held = new Set(roster.flatMap((one) => one.roles));
  // The device in the hand leads, unless somebody does already.
  const leader = roster.find((one) => one.roles.includes('leader'))?.device ?? own;
  const linked = roster.filter((one) => one.connected || one.device === own);
  const devices = [...linked.filter((one) => one.device === leader), ...linked.filter((one) => one.device !== leader)];
  const groups = TOGETHER[Math.min(devices.length, TOGETHER.length + 1) - 2];
  if (!groups) return [];
  const free = new Set(devices.map((one) => one.device));
  return groups.flatMap((group) => {
    const fits = (one: RosterEntry): number => group.filter((role) => one.roles.includes(role)).length;
    const open = devices.filter((one) => free.has(one.device));
    const taker = [...open].sort((one, other) => fits(other) - fits(one))[0];
    if (!taker) return [];
    free.delete(taker.device);
    return group.filter((role) => !held.has(role)).map((role) => ({ role, device: taker.device }));
  });
}
