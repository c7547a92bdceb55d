//! The loudspeaker: one AudioContext, begun by a tap as browsers demand, and the few sounds that we make. Thin: it must not
//! decide what sounds or when.
import { aheadOf, AudioTime, type Reading } from './audiotime';
import type { Pulse } from './tones';

/** Whether sound can be heard: there is none in this browser; nobody has touched the page yet; the system took it away; it runs. */
export type Allowed = 'absent' | 'untouched' | 'blocked' | 'running';

/** While something is said the beat and the breaths go on at this part of their loudness: felt, and not over a word. */
const DUCKED = 0.25;
/** So long sound may take to begin after a tap. */
const STARTS_MS = 600;
/** How long a change of loudness takes: at once it would click. */
const GLIDE_S = 0.03;

/** Something scheduled that can still be called off. */
export interface Planned {
  running_ms: number;
  /** Not heard, if it has not begun. */
  cancel(): void;
}

export class Output {
  #context: AudioContext | null = null;
  #master: GainNode | null = null;
  #rhythm: GainNode | null = null;
  #wave: PeriodicWave | null = null;
  #touched = false;
  readonly #time = new AudioTime();
  /** Called whenever `allowed` may have changed. */
  onchange: () => void = () => undefined;

  get allowed(): Allowed {
    if (typeof AudioContext === 'undefined') return 'absent';
    if (this.#context?.state === 'running') return 'running';
    return this.#touched ? 'blocked' : 'untouched';
  }

  /** Called from a tap, any tap: browsers let sound begin only then, and again after a call took the loudspeaker. */
  touch(): void {
    if (typeof AudioContext === 'undefined') return;
    this.#context ??= this.#make();
    if (this.#context.state === 'running') return;
    void this.#context.resume().catch(() => undefined);
    // Without a loudspeaker some browsers never answer: after a moment the page says that it is not heard.
    setTimeout(() => {
      this.#touched = true;
      this.onchange();
    }, STARTS_MS);
  }

  #make(): AudioContext {
    const context = new AudioContext({ latencyHint: 'interactive' });
    context.onstatechange = () => {
      this.#time.reset();
      this.onchange();
    };
    this.#master = new GainNode(context, { gain: 0 });
    this.#rhythm = new GainNode(context);
    this.#rhythm.connect(this.#master).connect(context.destination);
    // A fundamental and four overtones.
    this.#wave = context.createPeriodicWave(new Float32Array(6), new Float32Array([0, 1, 0.7, 0.5, 0.35, 0.25]));
    return context;
  }

  /** Loudness of all, from 0 to 1. */
  loud(gain: number): void {
    this.#glide(this.#master, gain);
  }

  /** Whether the rhythm steps back behind something that is said. */
  duck(on: boolean): void {
    this.#glide(this.#rhythm, on ? DUCKED : 1);
  }

  #glide(node: GainNode | null, gain: number): void {
    if (node && this.#context) node.gain.setTargetAtTime(gain, this.#context.currentTime, GLIDE_S / 3);
  }

  /** Reads both clocks; call it at each tick. */
  read(): void {
    const reading = this.#reading();
    if (reading) this.#time.add(reading);
  }

  #reading(): Reading | null {
    const context = this.#context;
    if (context?.state !== 'running') return null;
    return {
      running_ms: performance.now(),
      current_s: context.currentTime,
      output: typeof context.getOutputTimestamp === 'function' ? context.getOutputTimestamp() : undefined,
      output_latency_s: context.outputLatency,
      base_latency_s: context.baseLatency,
    };
  }

  /** When something given for `at_s` is heard, by performance.now() and by one fresh reading of the clocks: for a test. */
  heardAt(at_s: number): number | null {
    const reading = this.#reading();
    return reading && at_s * 1000 - aheadOf(reading);
  }

  /** The context's time that is heard at `running_ms`, if sound runs; never in the past. */
  #at(running_ms: number): { context: AudioContext; at_s: number } | null {
    const context = this.#context;
    const at_s = this.#time.at(running_ms);
    return context?.state === 'running' && at_s !== null ? { context, at_s: Math.max(at_s, context.currentTime) } : null;
  }

  /** The beat: a short knock, that is heard through voices and is no alarm. `at_s` is the context's time that it was given. */
  knock(running_ms: number, part: number): (Planned & { at_s: number }) | null {
    const when = this.#at(running_ms);
    if (!when) return null;
    return { ...this.#sound(when, running_ms, { hz: 950, to_hz: 700, rise_s: 0.001, long_s: 0.055, part: 0.9 * part, type: 'triangle' }), at_s: when.at_s };
  }

  /** The cue for a breath: a soft low swell, as long as a breath is given for. */
  swell(running_ms: number): Planned | null {
    const when = this.#at(running_ms);
    return when && this.#sound(when, running_ms, { hz: 220, to_hz: 330, rise_s: 0.35, long_s: 0.9, part: 0.35, type: 'sine' });
  }

  #sound(
    { context, at_s }: { context: AudioContext; at_s: number },
    running_ms: number,
    shape: { hz: number; to_hz: number; rise_s: number; long_s: number; part: number; type: OscillatorType },
  ): Planned {
    const tone = new OscillatorNode(context, { type: shape.type, frequency: shape.hz });
    const loudness = new GainNode(context, { gain: 0 });
    tone.frequency.setValueAtTime(shape.hz, at_s);
    tone.frequency.linearRampToValueAtTime(shape.to_hz, at_s + shape.long_s);
    loudness.gain.setValueAtTime(0, at_s);
    loudness.gain.linearRampToValueAtTime(shape.part, at_s + shape.rise_s);
    loudness.gain.setTargetAtTime(0, at_s + shape.rise_s, (shape.long_s - shape.rise_s) / 4);
    tone.connect(loudness).connect(this.#rhythm ?? context.destination);
    tone.start(at_s);
    tone.stop(at_s + shape.long_s + 0.05);
    return { running_ms, cancel: () => { if (context.currentTime < at_s) loudness.disconnect(); } };
  }

  /** Tones instead of words, at once. How long they take, in ms. */
  tones(pulses: readonly Pulse[]): number {
    const context = this.#context;
    if (context?.state !== 'running' || !this.#master) return 0;
    const begin_s = context.currentTime + 0.02;
    for (const { hz, at_s, long_s } of pulses) {
      const tone = new OscillatorNode(context, { frequency: hz });
      if (this.#wave) tone.setPeriodicWave(this.#wave);
      const loudness = new GainNode(context, { gain: 0 });
      loudness.gain.setValueAtTime(0, begin_s + at_s);
      loudness.gain.linearRampToValueAtTime(0.5, begin_s + at_s + 0.02);
      loudness.gain.setValueAtTime(0.5, begin_s + at_s + long_s - 0.03);
      loudness.gain.linearRampToValueAtTime(0, begin_s + at_s + long_s);
      tone.connect(loudness).connect(this.#master);
      tone.start(begin_s + at_s);
      tone.stop(begin_s + at_s + long_s);
    }
    return Math.max(0, ...pulses.map(({ at_s, long_s }) => (at_s + long_s) * 1000));
  }
}
