//! The languages there are, each by its own name, and which of them a browser asks for. Pure.

/** Languages with a catalogue of their own; English is the base from which keys are typed. */
export const LANGUAGES = ['en', 'es', 'fr', 'pt'] as const;
export type Language = (typeof LANGUAGES)[number];

/** Each by its own name, so that who cannot read the present one finds theirs. */
export const OWN_NAME: { readonly [language in Language]: string } = {
  en: 'English',
  es: 'Español',
  fr: 'Français',
  pt: 'Português',
};

/** The first of the browser's languages that is one of ours, whatever its region; English where there is none. */
export function preferred(asked: readonly string[]): Language {
  for (const tag of asked) {
    const found = LANGUAGES.find((one) => one === tag.toLowerCase().split('-')[0]);
    if (found) return found;
  }
  return 'en';
}

/**
 * The tag by whose rules numbers are written: the browser's own region of that language where it names one (`es-MX` has a
 * decimal point, `es-ES` a comma), always in the digits 0 to 9.
 */
export function localeOf(language: Language, asked: readonly string[]): string {
  const regional = asked.find((tag) => tag.toLowerCase().startsWith(`${language}-`) && /^[A-Za-z]{2}-[A-Za-z]{2}$/.test(tag));
  return `${regional ?? language}-u-nu-latn`;
}
