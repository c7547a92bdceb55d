//! The click of the compression beat, started by a tap as browsers demand. It must not decide when to beat.

let context: AudioContext | null = null;

/** Makes sound possible; called from a tap. */
export function allowSound(): void {
  context ??= new AudioContext();
  void context.resume();
}

/** One short click. */
export function click(): void {
  if (!context || context.state !== 'running') return;
  const tone = context.createOscillator();
  const loudness = context.createGain();
  const now = context.currentTime;
  tone.frequency.value = 880;
  loudness.gain.setValueAtTime(0.5, now);
  loudness.gain.exponentialRampToValueAtTime(0.001, now + 0.06);
  tone.connect(loudness).connect(context.destination);
  tone.start(now);
  tone.stop(now + 0.07);
}
