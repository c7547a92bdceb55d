//! Starts the page, in the language of this device. A language that does not come at once is not waited for.
import { mount } from 'svelte';
import App from './App.svelte';
import { guardTouches } from './ui/touches';
import './app.css';
import { readPreference } from './net/preferences.svelte';
import { useLanguage } from './text';

/** For so long the first picture waits for its words; then it starts in English. */
const WORDS_MS = 1000;

const target = document.getElementById('app');
guardTouches(document);
if (target) {
  const words = useLanguage(readPreference('language'));
  await Promise.race([words, new Promise((resolve) => setTimeout(resolve, WORDS_MS))]);
  mount(App, { target });
}
