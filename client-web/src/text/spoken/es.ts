//! All that this device says in Spanish, as one file of the build.
import { es as catalogue } from '../es';
import { es as sentences } from '../sentences/es';

export const words = { catalogue, sentences };
