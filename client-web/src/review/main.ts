//! Starts the review page, in the language of this browser.
import { mount } from 'svelte';
import { readPreference } from '../net/preferences.svelte';
import { useLanguage } from '../text';
import { useReviewWords } from '../text/review';
import '../app.css';
import './review.css';
import Review from './Review.svelte';

/** For so long the first picture waits for its words; then it starts in English. */
const WORDS_MS = 1000;

const target = document.getElementById('app');
if (target) {
  useReviewWords();
  const words = useLanguage(readPreference('language'));
  await Promise.race([words, new Promise((resolve) => setTimeout(resolve, WORDS_MS))]);
  mount(Review, { target });
}
