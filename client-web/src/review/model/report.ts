//! What a printed report says of itself: which version it is, whether that one is signed, and every version there is. Pure but
//! for the language.
import { r } from '../../text/review';
import type { ReviewedCode, SignatureShown, Standing, Version } from '../../wire/generated';
import { wallText } from './wall';

/** The version on the paper. */
export interface Printed {
  version: number;
  standing: Standing;
  signature: SignatureShown | null;
  /** Hash of the records printed: the one that was signed, or the present one. */
  head: string;
  /** The latest version, where the one printed is an older one. */
  later: number | null;
}

/** What is printed: the record as it stands (`version` null), or a version as it was signed. */
export function printed(code: ReviewedCode, version: number | null): Printed {
  const number = version ?? code.line.version;
  const signature = code.versions.find((one) => one.version === number)?.signature ?? null;
  const latest = code.versions.at(-1)?.version ?? number;
  return {
    version: number,
    // The server reads an old version without the signature that was put under it: it is signed all the same.
    standing: version !== null && signature ? 'signed' : code.line.standing,
    signature,
    head: signature?.head ?? code.head,
    later: latest > number ? latest : null,
  };
}

/** A version in words: why it was opened, and who signed it when. */
export function versionText(one: Version, locale: string): string {
  const name = r('review.version', { version: one.version });
  const signed = one.signature ? r('review.signed_by', { name: one.signature.by, when: wallText(one.signature.at, locale), records: one.signature.records }) : r('review.not_signed');
  return [name, ...(one.reason ? [one.reason] : []), signed].join(' – ');
}
