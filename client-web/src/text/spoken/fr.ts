//! All that this device says in French, as one file of the build.
import { fr as catalogue } from '../fr';
import { fr as sentences } from '../sentences/fr';

export const words = { catalogue, sentences };
