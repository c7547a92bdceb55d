//! Every word a user meets, in French. The keys and places are those of `en.ts`.
import { en, type Catalogue } from './en';

export const fr: Catalogue = {
  ...en,
  'device.language': 'Langue',
  'device.language.failed': 'Cette langue n’a pas pu être chargée : elle viendra quand le serveur répondra.',
};
