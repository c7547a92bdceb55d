//! The last view, kept so that a page that starts without its server can say what was last known. It is shown as old, and never orders:
//! the hands line says how long ago it was. Pure but for the store it is given.
import type { DeviceInfo, ViewMessage } from '../wire/generated';

/** What is kept. Times by two clocks: the server's, and this browser's wall clock. */
export interface Kept {
  device: DeviceInfo;
  view: ViewMessage;
  server_ms: number;
  wall_ms: number;
  /** Server milliseconds in a real one. */
  rate: number;
}

export interface KeptStore {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
  removeItem(key: string): void;
}

const KEY = 'coxswain.last';
/** Older than this nobody looks at it for the code; ours. */
const WORTH_MS = 4 * 3_600_000;

/** Keeps what the page knows now; a code that is closed is over, and nothing of it stays here. */
export function keep(store: KeptStore | null, kept: Kept): void {
  try {
    if (kept.view.phase === 'closed') store?.removeItem(KEY);
    else store?.setItem(KEY, JSON.stringify(kept));
  } catch {
    // A full or forbidden storage: the page then starts without a network as if there were no code.
  }
}

/** Forgets it: the device is out of the code, or no longer paired. */
export function forget(store: KeptStore | null): void {
  try {
    store?.removeItem(KEY);
  } catch {
    // Nothing can be kept here, so nothing is.
  }
}

/** What was kept, with the server's time now by the wall clock; null where there is nothing, or it is too old or not ours. */
export function recall(store: KeptStore | null, wall_ms: number): (Kept & { age_ms: number; server_now_ms: number }) | null {
  let kept: unknown;
  try {
    kept = JSON.parse(store?.getItem(KEY) ?? 'null');
  } catch {
    return null;
  }
  if (!isKept(kept)) return null;
  const age_ms = wall_ms - kept.wall_ms;
  // A wall clock that went back knows nothing of how long ago it was.
  if (age_ms < 0 || age_ms > WORTH_MS) return null;
  return { ...kept, age_ms, server_now_ms: kept.server_ms + age_ms * kept.rate };
}

const LET_IN = 'coxswain.let_in';

/** Whether the server let this browser in when it last said: such a page opens its link without waiting to be told again. */
export function wasLetIn(store: KeptStore | null): boolean {
  try {
    return store?.getItem(LET_IN) === 'yes';
  } catch {
    return false;
  }
}

/** Notes what the server says of this browser. */
export function noteLetIn(store: KeptStore | null, letIn: boolean): void {
  try {
    if (letIn) store?.setItem(LET_IN, 'yes');
    else store?.removeItem(LET_IN);
  } catch {
    // Nothing can be kept here: the link then waits for the answer, as on the first day.
  }
}

function isKept(value: unknown): value is Kept {
  if (typeof value !== 'object' || value === null) return false;
  const { device, view, server_ms, wall_ms, rate } = value as Partial<Kept>;
  return typeof device?.id === 'string' && typeof view?.code === 'string' && Array.isArray(view.prompts) && typeof view.hands === 'object' &&
    [server_ms, wall_ms, rate].every((one) => typeof one === 'number' && Number.isFinite(one));
}
