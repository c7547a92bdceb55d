//! What shall sound on this device now. Pure: from the view, the link and what was chosen. It must not order anything: a beat
//! runs only where compressions are ordered and on the record, unless somebody chose otherwise for this device.
import { LINK_GRACE_MS } from '../model/hands';
import type { Role, ViewMessage } from '../wire/generated';

/** For one kind of sound on this device: by its roles, or always, or never. */
export type Choice = 'role' | 'on' | 'off';
export const CHOICES: readonly Choice[] = ['role', 'on', 'off'];

/** The kinds, and whose device has each without anybody choosing. */
export const OWN: { readonly [kind in Kind]: Role } = { beat: 'compressor', breaths: 'airway', voice: 'leader' };
export type Kind = 'beat' | 'breaths' | 'voice';

/** Whether a device with these roles has this kind of sound. */
export const wants = (kind: Kind, choice: Choice, roles: readonly Role[]): boolean =>
  choice === 'on' || (choice === 'role' && roles.includes(OWN[kind]));

/** Loudness in steps, chosen for each role: 1 is soft, 4 is all that the tablet gives. */
export const STEPS = [1, 2, 3, 4] as const;
export type Step = (typeof STEPS)[number];
/** The compressor is close to the tablet, and sweats and counts; the rest of the room talks. Ours. */
const FIRST: { readonly [role in Role]: Step } = { leader: 3, compressor: 4, relief: 2, airway: 3, drugs: 2, defibrillator: 2, recorder: 2 };

/** What was chosen by role, the rest as at first. */
export type Volumes = { readonly [role in Role]?: Step };
/** How loud a device is: as the loudest of its roles. */
export function stepFor(volumes: Volumes, roles: readonly Role[]): Step {
  const all = roles.map((role) => volumes[role] ?? FIRST[role]);
  return all.length === 0 ? 2 : (Math.max(...all) as Step);
}
/** Each step is about 6 dB, which the ear takes for clearly louder. */
export const gainOf = (step: Step): number => 2 ** (step - 4);

/** What the beat needs of a view. */
export type BeatView = Pick<ViewMessage, 'phase' | 'hands' | 'compressions_per_minute'>;

/**
 * How the beat sounds: `full` under compressions, `soft` in a pause where this device was told to go on through them, null where it is
 * silent. It is always silent while hands are clear: nobody shall begin on it while a shock is about to be given.
 */
export function beatOf(view: BeatView, lost_ms: number | null, through_pauses: boolean): 'full' | 'soft' | null {
  // Without a rate a device compresses: nobody needs a beat then.
  if (view.phase !== 'arrest' || view.compressions_per_minute === undefined || view.hands.now === 'clear') return null;
  const known = lost_ms === null || lost_ms < LINK_GRACE_MS;
  if (known && view.hands.now === 'compress' && view.hands.observed.compressing) return 'full';
  return through_pauses ? 'soft' : null;
}

/** How breaths are heard: at each so many seconds, or after so many beats. */
export type Breathing = { kind: 'each'; period_ms: number } | { kind: 'ratio'; after_compressions: number; gap_s: number; since_ms: number };

/** The rhythm of breaths that this device cues; null where there is none, or nothing is known. */
export function breathsOf(view: Pick<ViewMessage, 'phase' | 'hands' | 'breath_rhythm'>, lost_ms: number | null): Breathing | null {
  const rhythm = view.breath_rhythm;
  if (view.phase !== 'arrest' || rhythm === undefined || view.hands.now === 'clear' || (lost_ms !== null && lost_ms >= LINK_GRACE_MS)) return null;
  if (rhythm.each_s !== undefined) return { kind: 'each', period_ms: rhythm.each_s * 1000 };
  const { compressing, since_ms } = view.hands.observed;
  if (rhythm.after_compressions === undefined || rhythm.gap_s === undefined || !compressing || since_ms === undefined) return null;
  return { kind: 'ratio', after_compressions: rhythm.after_compressions, gap_s: rhythm.gap_s, since_ms };
}
