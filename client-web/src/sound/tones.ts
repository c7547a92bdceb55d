//! The short tones that stand for words where the tablet has no voice in its language. Pure: frequencies and times.
//!
//! The form is that of IEC 60601-1-8's low and medium priority bursts, from memory and not looked up: two pulses or three, each of
//! 0.125 to 0.25 s, between 150 and 1000 Hz, with overtones so that the ear finds where they come from. These are no alarms
//! of a medical device, and claim no conformity: no high priority burst is used, since that is for the monitor.
import type { Sentence } from './sayings';

/** One pulse: its pitch, when it begins and how long it is, in seconds. */
export interface Pulse {
  hz: number;
  at_s: number;
  long_s: number;
}

const PULSE_S = 0.16;
const STEP_S = 0.32;
/** c', e', g', c'' of the tempered scale. */
const [C, E, G, C2] = [261.63, 329.63, 392, 523.25] as const;

const burst = (...pitches: readonly number[]): Pulse[] => pitches.map((hz, index) => ({ hz, at_s: index * STEP_S, long_s: PULSE_S }));

/** Three pulses for what the hands do: up for on the chest, down for off it, level for a pause. Two for the rest. */
export function tonesFor(sentence: Sentence): Pulse[] {
  switch (sentence.what) {
    case 'compress':
      return burst(C, E, G);
    case 'clear':
    case 'clear_mechanical':
      return burst(C2, G, C);
    case 'pause':
      return burst(G, G, G);
    case 'check_ahead':
      return burst(E, C);
    case 'drug_ahead':
    case 'drug_due':
      return burst(G, E);
  }
}
