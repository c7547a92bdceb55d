//! What this device lets hear in a code: beat, breaths, words, and a shake. It joins what shall sound (`wanted`, `sayings`), when (`beats`),
//! and the loudspeaker. It must not decide what a code needs: it reads the view, as the screens do.
import { handsSaying, LINK_GRACE_MS } from '../model/hands';
import { tasksFor, urgencyOf } from '../model/tasks';
import { preferences } from '../net/preferences.svelte';
import { session } from '../net/session.svelte';
import { locale, t, word } from '../text';
import type { Role, ViewMessage } from '../wire/generated';
import { BeatFollower, breathsFallOn } from './beats';
import { Buzz } from './buzz';
import { Output, type Allowed, type Planned } from './output';
import { sayable, SayQueue, type Sentence } from './sayings';
import { tonesFor } from './tones';
import { Voice } from './voice';
import { beatOf, breathsOf, gainOf, stepFor, wants, type Kind } from './wanted';

/** How often the clocks are read and sounds are scheduled. */
const TICK_MS = 50;
/** How far ahead: a page that is busy for so long loses no beat. A page that is not in front wakes once a second only. */
const AHEAD_MS = 300;
const AHEAD_HIDDEN_MS = 1_500;
/** In a pause that the beat goes on through. */
const SOFT = 0.35;

/** What a test looks at; absent on every real device. */
interface Watched {
  number: number;
  /** When it shall be heard, and when it is by a fresh reading of the loudspeaker's clock; both by performance.now(). */
  running_ms: number;
  heard_ms: number | null;
}
declare global {
  // eslint-disable-next-line no-var
  var coxswainBeats: Watched[] | undefined;
}

class Sound {
  /** Whether this device can be heard. */
  allowed = $state<Allowed>('untouched');
  /** Somebody made this device silent, for this code. */
  silenced = $state(false);
  /** Whether words are words here, and not tones. */
  speaks = $state(false);

  readonly #output = new Output();
  readonly #voice = new Voice(globalThis.speechSynthesis ?? null);
  readonly #queue = new SayQueue();
  readonly #buzz = new Buzz();
  #beat: BeatFollower | null = null;
  #breath: { of: string; follower: BeatFollower } | null = null;
  #planned: Planned[] = [];
  #breaths: Planned[] = [];
  #code = '';

  constructor() {
    this.#output.onchange = () => {
      this.allowed = this.#output.allowed;
      if (this.allowed !== 'running') this.#hush();
    };
    this.allowed = this.#output.allowed;
  }

  /** The kinds of sound that this device has in this code. */
  kinds(view: Pick<ViewMessage, 'roles'>): Kind[] {
    const { sound_beat: beat, sound_breaths: breaths, sound_voice: voice } = preferences;
    const chosen = { beat, breaths, voice };
    return (['beat', 'breaths', 'voice'] as const).filter((kind) => wants(kind, chosen[kind], view.roles));
  }

  /** From any tap on the page: sound may begin. */
  touch(): void {
    this.#output.touch();
    this.#voice.touch();
  }

  /** Silent at once, or heard again. */
  silence(on: boolean): void {
    this.silenced = on;
    if (on) this.#hush();
  }

  /** Two beats and a sentence that says nothing of a patient: how loud this device is for a role. */
  try(role: Role): void {
    this.touch();
    setTimeout(() => {
      for (let index = 0; index < 8; index += 1) this.#output.read();
      const volume = gainOf(stepFor(preferences.volumes, [role]));
      this.#output.loud(volume);
      const now_ms = performance.now();
      this.#output.knock(now_ms + 100, 1);
      this.#output.knock(now_ms + 650, 1);
      setTimeout(() => {
        if (!this.#voice.speak(t('say.try'), locale(), Math.sqrt(volume), () => undefined)) this.#output.tones(tonesFor({ what: 'compress' }));
      }, 1_000);
    }, 150);
  }

  /** Runs while a code is on the screen. Returns what ends it. */
  run(): () => void {
    const touch = (): void => this.touch();
    // Which of these a browser takes for consent differs; all are harmless.
    const taps = ['pointerup', 'click', 'keydown', 'touchend'] as const;
    taps.forEach((one) => document.addEventListener(one, touch, { capture: true, passive: true }));
    const timer = setInterval(() => this.#tick(), TICK_MS);
    return () => {
      clearInterval(timer);
      taps.forEach((one) => document.removeEventListener(one, touch, { capture: true }));
      this.#hush();
    };
  }

  #tick(): void {
    const view = session.view;
    if (!view) return this.#hush();
    if (view.code !== this.#code) {
      this.#code = view.code;
      this.silenced = false;
    }
    this.#output.read();
    const kinds = this.silenced ? [] : this.kinds(view);
    this.#output.loud(this.silenced ? 0 : gainOf(stepFor(preferences.volumes, view.roles)));
    this.#beats(view, kinds.includes('beat'));
    this.#cueBreaths(view, kinds.includes('breaths'));
    this.#say(view, kinds.includes('voice'));
    this.#shake(view);
    this.speaks = this.#voice.has(locale());
  }

  #until_ms(now_ms: number): number {
    return now_ms + (document.visibilityState === 'visible' ? AHEAD_MS : AHEAD_HIDDEN_MS);
  }

  #beats(view: ViewMessage, wanted: boolean): void {
    const mode = wanted ? beatOf(view, session.lost_ms(), preferences.beat_in_pauses) : null;
    const axis = session.axis();
    const rate = view.compressions_per_minute;
    if (mode === null || rate === undefined || !axis || this.allowed !== 'running') {
      cancelAll(this.#planned);
      this.#planned = [];
      this.#beat = null;
      return;
    }
    const period_ms = 60_000 / rate;
    if (this.#beat?.period_ms !== period_ms) this.#beat = new BeatFollower(period_ms);
    const now_ms = performance.now();
    this.#planned = this.#planned.filter((one) => one.running_ms > now_ms);
    for (const beat of this.#beat.take(axis, now_ms, this.#until_ms(now_ms))) {
      const planned = this.#output.knock(beat.running_ms, mode === 'full' ? 1 : SOFT);
      if (!planned) continue;
      this.#planned.push(planned);
      globalThis.coxswainBeats?.push({ ...beat, heard_ms: this.#output.heardAt(planned.at_s) });
    }
  }

  #cueBreaths(view: ViewMessage, wanted: boolean): void {
    const rhythm = wanted ? breathsOf(view, session.lost_ms()) : null;
    const axis = session.axis();
    const rate = view.compressions_per_minute;
    const period_ms = rhythm?.kind === 'each' ? rhythm.period_ms : rate === undefined ? null : 60_000 / rate;
    if (!rhythm || !axis || period_ms === null || this.allowed !== 'running') {
      cancelAll(this.#breaths);
      this.#breaths = [];
      this.#breath = null;
      return;
    }
    const of = JSON.stringify(rhythm);
    if (this.#breath?.of !== of || this.#breath.follower.period_ms !== period_ms) {
      cancelAll(this.#breaths);
      this.#breath = { of, follower: new BeatFollower(period_ms) };
    }
    const now_ms = performance.now();
    this.#breaths = this.#breaths.filter((one) => one.running_ms > now_ms);
    for (const beat of this.#breath.follower.take(axis, now_ms, this.#until_ms(now_ms))) {
      if (rhythm.kind === 'ratio' && !breathsFallOn(beat.number, rhythm.since_ms / session.rate, period_ms, rhythm)) continue;
      const planned = this.#output.swell(beat.running_ms);
      if (planned) this.#breaths.push(planned);
    }
  }

  #say(view: ViewMessage, wanted: boolean): void {
    if (!wanted || this.allowed !== 'running') return;
    const now_ms = session.now_ms;
    const hands = handsSaying(view.hands, view.phase, now_ms, session.lost_ms());
    const next = this.#queue.next(sayable(view, session.prompts(), hands, now_ms), now_ms);
    if (!next) return;
    const { key, sentence } = next.saying;
    if (next.cut) this.#voice.stop();
    this.#output.duck(true);
    const ended = (): void => {
      this.#queue.ended(key);
      if (this.#queue.speaking === null) this.#output.duck(false);
    };
    const volume = gainOf(stepFor(preferences.volumes, view.roles));
    // The voice is not ours to make louder: it takes the square root, or a soft tablet could not be understood.
    if (this.#voice.speak(textOf(sentence, now_ms), locale(), Math.sqrt(volume), ended)) return;
    setTimeout(ended, this.#output.tones(tonesFor(sentence)));
  }

  #shake(view: ViewMessage): void {
    if (!preferences.vibrate || !('vibrate' in navigator) || !navigator.userActivation?.hasBeenActive) return;
    if ((session.lost_ms() ?? 0) >= LINK_GRACE_MS) return;
    const now_ms = session.now_ms;
    const prompts = session.prompts();
    const main = tasksFor(prompts, view.roles, now_ms).main;
    const pattern = main && this.#buzz.next([{ key: main.key, urgency: urgencyOf(main, now_ms) }]);
    if (pattern) navigator.vibrate(pattern);
  }

  #hush(): void {
    cancelAll([...this.#planned, ...this.#breaths]);
    this.#planned = [];
    this.#breaths = [];
    this.#beat = null;
    this.#breath = null;
    this.#voice.stop();
    this.#output.duck(false);
    const speaking = this.#queue.speaking;
    if (speaking) this.#queue.ended(speaking.key);
    this.#output.loud(0);
  }
}

function cancelAll(planned: readonly Planned[]): void {
  const now_ms = performance.now();
  for (const one of planned) if (one.running_ms > now_ms) one.cancel();
}

/** Seconds as people say them: in fives, where there are many. */
function secondsTo(at_ms: number, now_ms: number): number {
  const seconds = Math.max(1, Math.round((at_ms - now_ms) / 1000));
  return seconds > 10 ? Math.round(seconds / 5) * 5 : seconds;
}

function textOf(sentence: Sentence, now_ms: number): string {
  switch (sentence.what) {
    case 'check_ahead':
      return t('say.check_ahead', { seconds: secondsTo(sentence.at_ms, now_ms) });
    case 'drug_ahead':
      return t('say.drug_ahead', { drug: word('drug', sentence.drug), seconds: secondsTo(sentence.at_ms, now_ms) });
    case 'drug_due':
      return t('say.drug_due', { drug: word('drug', sentence.drug) });
    default:
      return t(`say.${sentence.what}`);
  }
}

/** This page's sound. */
export const sound = new Sound();
