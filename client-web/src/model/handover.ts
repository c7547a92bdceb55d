//! Who may have stayed behind when the patient was moved: devices that had their roles before and took none since. Pure; it
//! proposes, and people decide: a tablet may have come along.
import type { Record as TimelineRecord, Role, RosterEntry } from '../wire/generated';

/** A device that has its roles from before the move. */
export interface Before {
  device: string;
  name: string;
  roles: Role[];
  /** Whether somebody who is linked took each of these roles since the move: then nothing is lost by taking them back. */
  doubled: boolean;
}

/** The place moved to, and the devices that may have stayed at the old one; null where nobody moved. */
export function beforeTheMove(
  timeline: readonly TimelineRecord[],
  roster: readonly RosterEntry[],
  own: string | undefined,
): { location: string; devices: Before[] } | null {
  const voided = new Set(timeline.flatMap(({ event }) => (event.kind === 'voided' ? [event.target] : [])));
  const counts = timeline.filter((one) => !voided.has(one.id));
  const last = counts.map((one) => one.event.kind).lastIndexOf('moved');
  const moved = counts[last]?.event;
  if (moved?.kind !== 'moved') return null;
  const since = new Set(counts.slice(last).flatMap(({ event }) => (event.kind === 'role_assigned' ? [event.device] : [])));
  const here = roster.filter((one) => one.device === own || (one.connected && since.has(one.device)));
  const devices = roster
    .filter((one) => one.device !== own && !since.has(one.device) && one.roles.length > 0)
    .map((one) => ({
      device: one.device,
      name: one.name,
      roles: one.roles,
      doubled: one.roles.every((role) => here.some((other) => other.roles.includes(role))),
    }));
  return { location: moved.location, devices };
}
