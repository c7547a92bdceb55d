//! One question to the server after another, of which only the last one's answer is shown: a slow answer never overrules a later one.
import { Refused } from '../api';
import { refusedText } from './refused';

export class Asked<Answer> {
  /** The last answer; null before there is one. */
  shown = $state.raw<Answer | null>(null);
  /** Why there was none, in words; empty if there was. */
  trouble = $state('');
  #turn = 0;

  /** `over` is called when the session has ended. */
  constructor(readonly over: () => void) {}

  async ask(question: () => Promise<Answer>): Promise<void> {
    const mine = (this.#turn += 1);
    try {
      const found = await question();
      if (mine !== this.#turn) return;
      this.shown = found;
      this.trouble = '';
    } catch (failure) {
      if (mine !== this.#turn) return;
      if (failure instanceof Refused && failure.status === 401) this.over();
      else this.trouble = refusedText(failure);
    }
  }
}
