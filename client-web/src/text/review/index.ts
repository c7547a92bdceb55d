//! The labels of the review page: a section of its own, which no role's screen loads. Looked up like every other label.
import { message, useSection, type Fill } from '../catalogue.svelte';
import { reviewEn, type ReviewKey } from './en';

export type { ReviewKey } from './en';

/** Puts these labels beside the others, in every language. */
export function useReviewWords(): void {
  useSection({
    en: reviewEn,
    fetch: {
      es: async () => (await import('./es')).reviewEs,
      fr: async () => (await import('./fr')).reviewFr,
      pt: async () => (await import('./pt')).reviewPt,
    },
  });
}

/** The label for a key of the review page, with `{name}` filled in. */
export function r(key: ReviewKey, fill: Fill = {}): string {
  return message(key, fill);
}
