//! All that this device says in Portuguese, as one file of the build.
import { pt as catalogue } from '../pt';
import { pt as sentences } from '../sentences/pt';

export const words = { catalogue, sentences };
