//! Keeps the keyboard where it was when what it stood on goes: a task changes, a button rests after a tap. Whoever works by
//! keys or a switch must not begin at the top of the page each time. It takes the focus from nothing that has it.

/** On a box whose buttons come and go: if the focused one went, or rested, the one in its place takes the focus. */
export function keepFocus(box: HTMLElement): { destroy: () => void } {
  /** The place of the button that had the focus, among those of the box; null if the keyboard is elsewhere. */
  let place: number | null = null;
  const buttons = (): HTMLElement[] => [...box.querySelectorAll<HTMLElement>('button, input')];
  const inside = (event: FocusEvent): void => {
    place = event.target instanceof HTMLElement && event.target.matches(':focus-visible') ? buttons().indexOf(event.target) : null;
  };
  const settle = (): void => {
    if (place === null) return;
    const now = document.activeElement;
    if (now !== null && now !== document.body) {
      if (!box.contains(now)) place = null;
      return;
    }
    const all = buttons();
    const next = all[Math.min(place, all.length - 1)];
    if (next && !next.matches(':disabled')) next.focus({ preventScroll: true });
  };
  const elsewhere = (): void => {
    place = null;
  };
  const watch = new MutationObserver(settle);
  watch.observe(box, { childList: true, subtree: true, attributes: true, attributeFilter: ['disabled'] });
  box.addEventListener('focusin', inside);
  document.addEventListener('pointerdown', elsewhere);
  return {
    destroy: () => {
      watch.disconnect();
      box.removeEventListener('focusin', inside);
      document.removeEventListener('pointerdown', elsewhere);
    },
  };
}
