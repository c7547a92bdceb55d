//! Refusals in words: by their named reason where there are words for it, with the server's own sentence otherwise.
import { r } from '../../text/review';
import { Refused } from '../api';

const KNOWN = ['no_answer', 'not_signed_in', 'wrong_password', 'changed_meanwhile', 'code_running', 'signed', 'not_signed', 'choice_not_current', 'chain_broken', 'unknown_code'] as const;

export function refusedText(failure: unknown): string {
  if (!(failure instanceof Refused)) throw failure;
  const known = KNOWN.find((one) => one === failure.reason);
  if (known) return r(`review.refused.${known}`);
  return r('review.refused.other', { message: failure.message || failure.reason });
}
