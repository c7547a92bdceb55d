//! The tablet's own voice, where it has one in the language of this device. Thin: it must not decide what is said.

/** A voice for a language: one that is on the device goes before one that needs the internet. */
export function voiceFor<Voice extends Pick<SpeechSynthesisVoice, 'lang' | 'localService' | 'default'>>(voices: readonly Voice[], locale: string): Voice | null {
  const tag = (lang: string): string => lang.toLowerCase().replace('_', '-');
  const language = tag(locale).split('-')[0] ?? '';
  const rank = (voice: Voice): number => (voice.localService ? 4 : 0) + (tag(voice.lang) === tag(locale) ? 2 : 0) + (voice.default ? 1 : 0);
  const spoken = voices.filter((voice) => tag(voice.lang).split('-')[0] === language);
  return [...spoken].sort((one, other) => rank(other) - rank(one))[0] ?? null;
}

/** No sentence is longer; where the end of one is never told, this ends it. */
const LONGEST_MS = 7_000;

export class Voice {
  #voices: readonly SpeechSynthesisVoice[] = [];
  #woken = false;
  #limit: ReturnType<typeof setTimeout> | null = null;
  /** The platform lets go of what nobody holds, and then never tells the end. */
  #held: SpeechSynthesisUtterance | null = null;

  constructor(private readonly synthesis: SpeechSynthesis | null) {
    const read = (): void => {
      this.#voices = synthesis?.getVoices() ?? [];
    };
    read();
    synthesis?.addEventListener?.('voiceschanged', read);
  }

  /** Called from a tap: some platforms speak only after a tap has made them speak once. */
  touch(): void {
    if (this.#woken || !this.synthesis) return;
    this.#woken = true;
    const nothing = new SpeechSynthesisUtterance(' ');
    nothing.volume = 0;
    this.synthesis.speak(nothing);
  }

  /** Whether there is a voice in this language. */
  has(locale: string): boolean {
    return this.#woken && voiceFor(this.#voices, locale) !== null;
  }

  /** Speaks; false if there is no voice. `ended` is called once. */
  speak(text: string, locale: string, volume: number, ended: () => void): boolean {
    const voice = voiceFor(this.#voices, locale);
    if (!voice || !this.synthesis) return false;
    this.stop();
    const words = new SpeechSynthesisUtterance(text);
    words.voice = voice;
    words.lang = voice.lang;
    words.volume = volume;
    const over = (): void => {
      if (this.#held !== words) return;
      this.#held = null;
      if (this.#limit) clearTimeout(this.#limit);
      ended();
    };
    words.onend = over;
    words.onerror = over;
    this.#held = words;
    this.#limit = setTimeout(() => {
      this.synthesis?.cancel();
      over();
    }, LONGEST_MS);
    this.synthesis.speak(words);
    return true;
  }

  /** Silent at once; nobody is told of an end. */
  stop(): void {
    this.#held = null;
    if (this.#limit) clearTimeout(this.#limit);
    this.synthesis?.cancel();
  }
}
