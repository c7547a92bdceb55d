//! Dark or light: by the room, which the system knows, or as this device was told. It sets the one attribute that the colours
//! of app.css follow. It must not be asked for a colour.
import type { Preferences } from '../net/preferences.svelte';

const GROUND = { dark: '#0a0e13', light: '#e9eef3' };

/** Shows the page in the light that was chosen, and follows the room as long as that is the choice. Gives back its end. */
export function showIn(choice: Preferences['light']): () => void {
  const room = matchMedia('(prefers-color-scheme: light)');
  const apply = (): void => {
    const light = choice === 'room' ? (room.matches ? 'light' : 'dark') : choice;
    document.documentElement.dataset['light'] = light;
    // The bars of the browser around the page.
    document.querySelector('meta[name=theme-color]')?.setAttribute('content', GROUND[light]);
  };
  apply();
  room.addEventListener('change', apply);
  return () => room.removeEventListener('change', apply);
}
