//! How full this tablet is, where its browser tells: said to the server when it changes, for the leader to see.
import type { Battery } from '../wire/generated';

/** The browser's own, which no list of types has. */
interface Manager extends EventTarget {
  level: number;
  charging: boolean;
}

/** As the wire has it. */
export const batteryOf = ({ level, charging }: Pick<Manager, 'level' | 'charging'>): Battery => ({
  percent: Math.round(Math.min(1, Math.max(0, Number.isFinite(level) ? level : 1)) * 100),
  charging,
});

/** Below this, off the charger, a tablet may not last for a long code. */
export const LOW_PERCENT = 20;
export const isLow = (battery: Battery | undefined): battery is Battery => battery !== undefined && battery.percent < LOW_PERCENT && !battery.charging;

/** Tells of the battery now and whenever it changes; nothing where the browser does not know. */
export async function watchBattery(tell: (battery: Battery) => void): Promise<void> {
  const asked = (navigator as Navigator & { getBattery?: () => Promise<Manager> }).getBattery;
  if (!asked) return;
  try {
    const manager = await asked.call(navigator);
    const say = (): void => tell(batteryOf(manager));
    manager.addEventListener('levelchange', say);
    manager.addEventListener('chargingchange', say);
    say();
  } catch {
    // Forbidden here.
  }
}
