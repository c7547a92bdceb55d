//! Every word a user meets, in Portuguese. The keys and places are those of `en.ts`.
import { en, type Catalogue } from './en';

export const pt: Catalogue = {
  ...en,
  'device.language': 'Idioma',
  'device.language.failed': 'Não foi possível carregar este idioma: ele virá quando o servidor responder.',
};
