//! Every word a user meets, in Spanish. The keys and places are those of `en.ts`.
import { en, type Catalogue } from './en';

export const es: Catalogue = {
  ...en,
  'device.language': 'Idioma',
  'device.language.failed': 'No se pudo cargar este idioma: aparecerá cuando responda el servidor.',
};
