//! Why the server refused something, in this device's language: its named reason, and behind it the server's own sentence, which
//! has the particulars. English has that sentence alone: it says the same.
import { language, t, type Key } from '../text';
import { en } from '../text/en';

export function refusalText(reason: string, message: string): string {
  const key = `refusal.${reason}`;
  if (!Object.hasOwn(en, key)) return message;
  if (language() === 'en' && message !== '') return message;
  const named = t(key as Key);
  return message === '' ? named : `${named} (${message})`;
}
