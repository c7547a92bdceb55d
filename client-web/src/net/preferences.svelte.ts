//! What a person chose for this device alone: kept in this browser, never sent. A value that is absent or makes no sense, or
//! a browser that keeps nothing, gives the first value; a screen never waits for storage. It must not act on a preference.
import { CHOICES, STEPS, type Volumes } from '../sound/wanted';
import { LANGUAGES, preferred } from '../text/languages';

/** A preference: reads what was kept, and what holds until somebody chooses. */
interface Rule<Value> {
  /** What was kept, if it is a value of this preference. */
  read: (kept: unknown) => Value | null;
  first: () => Value;
}

/** One word out of a list. */
export const oneOf = <Value extends string>(choices: readonly Value[], first: () => Value): Rule<Value> => ({
  read: (kept) => choices.find((one) => one === kept) ?? null,
  first,
});
/** On or off. */
export const onOff = (first: boolean): Rule<boolean> => ({ read: (kept) => (typeof kept === 'boolean' ? kept : null), first: () => first });
/** A number within bounds. */
export const between = (least: number, most: number, first: number): Rule<number> => ({
  read: (kept) => (typeof kept === 'number' && kept >= least && kept <= most ? kept : null),
  first: () => first,
});

const browserLanguages = (): readonly string[] => globalThis.navigator?.languages ?? [];

/** A loudness for some roles; what makes no sense in it is left out. */
const volumes: Rule<Volumes> = {
  read: (kept) => {
    if (typeof kept !== 'object' || kept === null) return null;
    const steps = Object.entries(kept).filter(([, step]) => STEPS.some((one) => one === step));
    return Object.fromEntries(steps) as Volumes;
  },
  first: () => ({}),
};

/** Every preference. To add one: a line here, and a row in `ui/ThisDevice.svelte`. */
const RULES = {
  language: oneOf(LANGUAGES, () => preferred(browserLanguages())),
  /** Dark and light screens; `room`: as the system says. */
  light: oneOf(['room', 'dark', 'light'], () => 'room'),
  /** The hand that taps: on a wide screen the main action lies on its side. */
  hand: oneOf(['right', 'left'], () => 'right'),
  sound_beat: oneOf(CHOICES, () => 'role'),
  sound_breaths: oneOf(CHOICES, () => 'role'),
  sound_voice: oneOf(CHOICES, () => 'role'),
  beat_in_pauses: onOff(false),
  volumes,
  vibrate: onOff(true),
};

type Rules = typeof RULES;
export type PreferenceName = keyof Rules;
export type Preferences = { [name in PreferenceName]: Rules[name] extends Rule<infer Value> ? Value : never };

const PREFIX = 'coxswain.device.';
const NAMES = Object.keys(RULES) as PreferenceName[];

function kept(name: string): unknown {
  try {
    const text = globalThis.localStorage?.getItem(PREFIX + name) ?? null;
    return text === null ? null : JSON.parse(text);
  } catch {
    return null;
  }
}

/** A preference as it was kept, or as it is at first. */
export function readPreference<Name extends PreferenceName>(name: Name): Preferences[Name] {
  const rule = RULES[name] as unknown as Rule<Preferences[Name]>;
  return rule.read(kept(name)) ?? rule.first();
}

/** What holds on this device now; reading it in a component follows every change. Change it by `prefer` only. */
export const preferences: Readonly<Preferences> = $state(
  Object.fromEntries(NAMES.map((name) => [name, readPreference(name)])) as Preferences,
);

/** Chooses, at once on this page and for later on this device. */
export function prefer<Name extends PreferenceName>(name: Name, value: Preferences[Name]): void {
  (preferences as Preferences)[name] = value;
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify(value));
  } catch {
    // A browser that keeps nothing asks again next time.
  }
}

/** Another page of this browser chose: it is one device, and this page follows. */
function followOthers<Name extends PreferenceName>(name: Name): void {
  (preferences as Preferences)[name] = readPreference(name);
}
globalThis.window?.addEventListener('storage', (event) => {
  const name = NAMES.find((one) => event.key === PREFIX + one);
  if (name) followOthers(name);
});
