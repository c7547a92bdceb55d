//! Keeps touches that were not meant from every button of the page, before any of them hears of it.
import { ghost, meantForAnother, type Click } from '../model/touch';

/** Guards a page for as long as it lives. */
export function guardTouches(page: Document): void {
  /** The contacts that lie on the glass, and whether each is a finger's. */
  const lying = new Map<number, boolean>();
  /** The last contact that was none, until the click that it makes has been kept off. */
  let ghosted: number | null = null;
  const keep = (event: Event): void => {
    event.stopImmediatePropagation();
    event.preventDefault();
  };
  page.addEventListener('pointerdown', (event) => {
    const isGhost = ghost({ width_px: event.width, height_px: event.height, others: lying.size });
    lying.set(event.pointerId, isGhost);
    ghosted = isGhost ? event.pointerId : ghosted === event.pointerId ? null : ghosted;
    if (isGhost) keep(event);
  }, { capture: true });
  for (const end of ['pointerup', 'pointercancel'] as const) {
    page.addEventListener(end, (event) => lying.delete(event.pointerId), { capture: true });
  }
  let last: Click | null = null;
  page.addEventListener('click', (event) => {
    if (ghosted !== null && event instanceof PointerEvent && event.pointerId === ghosted) {
      ghosted = null;
      return keep(event);
    }
    // Keys and switches click where they mean to.
    if (event.detail === 0) return;
    const target = event.target instanceof Element ? (event.target.closest('button') ?? event.target) : event.target;
    const click = { at_ms: event.timeStamp, x_px: event.clientX, y_px: event.clientY, target };
    if (meantForAnother(click, last)) keep(event);
    else last = click;
  }, { capture: true });
}
