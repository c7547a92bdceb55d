//! What a language's typography asks of every message, done in one place instead of by hand in each. Pure.
import type { Language } from './languages';

const KEPT = '\u00a0';

/** A message ready to be shown: in French a sign that stands apart from its word never begins a line. */
export function typeset(text: string, language: Language): string {
  if (language !== 'fr') return text;
  return text.replace(/ (?=[:;!?»])/g, KEPT).replace(/« /g, `«${KEPT}`);
}
