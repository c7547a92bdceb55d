//! Makes a text as large as its box allows, so that it can be read from where people stand, and leaves out whole what does
//! not fit: never half a line. It must not change the text or the box.

/** What an action on an element gives back. */
interface Fitted {
  update: (content: string) => void;
  destroy: () => void;
}

/** Watches a box and what it holds, and settles it anew before the next frame is drawn. */
function settled(box: HTMLElement, settle: () => void): Fitted {
  let pending = 0;
  const ask = (): void => {
    if (!pending) {
      pending = requestAnimationFrame(() => {
        pending = 0;
        settle();
      });
    }
  };
  const watch = new ResizeObserver(ask);
  watch.observe(box);
  ask();
  // The letters are another size once the typeface is here.
  document.fonts.addEventListener('loadingdone', ask);
  return {
    update: ask,
    destroy: () => {
      watch.disconnect();
      document.fonts.removeEventListener('loadingdone', ask);
      cancelAnimationFrame(pending);
    },
  };
}

const SMALLEST_PX = 12;

/**
 * Sets the largest font size at which the element's content fits into its parent; with `data-most="own"` no larger than its
 * own styles say.
 */
export function fit(node: HTMLElement, _content: string): Fitted {
  const box = node.parentElement ?? node;
  return settled(box, () => {
    node.style.fontSize = '';
    const most = node.dataset['most'] === 'own' ? parseFloat(getComputedStyle(node).fontSize) : Infinity;
    // A box that is as high as its text would keep the height that the last text gave it: measured small, it has its own.
    node.style.fontSize = `${SMALLEST_PX}px`;
    const style = getComputedStyle(box);
    const width = box.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
    const height = box.clientHeight - parseFloat(style.paddingTop) - parseFloat(style.paddingBottom);
    if (width <= 0 || height <= 0) return;
    const most_px = Math.max(SMALLEST_PX, Math.min(height, most));
    const fitting_px = largest(most_px, (size_px) => {
      node.style.fontSize = `${size_px}px`;
      // A line twice as wide is half the letter; a text twice as high is one of half the area.
      return Math.min((width + 0.5) / node.scrollWidth, Math.sqrt((height + 0.5) / node.scrollHeight));
    });
    node.style.fontSize = `${fitting_px >= most - 1 ? most : fitting_px}px`;
  });
}

/**
 * The largest whole size, from the smallest to `most_px`, that fits, and `most_px` itself where it does. `room` tries a size, and says how
 * many times larger the text could about be: 1 and more where it fits. Each try costs a layout of the page, so that it guides
 * the next one.
 */
export function largest(most_px: number, room: (size_px: number) => number): number {
  let factor = room(most_px);
  if (factor >= 1) return most_px;
  let [low, high] = [SMALLEST_PX, Math.ceil(most_px)];
  let next = Math.floor(most_px * factor);
  let step = 1;
  while (high - low > 1) {
    const tried = Math.min(high - 1, Math.max(low + 1, next));
    factor = room(tried);
    if (factor >= 1) {
      low = tried;
      next = low + step;
      step *= 2;
    } else {
      high = tried;
      next = Math.floor(tried * factor);
    }
  }
  return low;
}

const overflows = (box: HTMLElement): boolean => box.scrollHeight > box.clientHeight + 1 || box.scrollWidth > box.clientWidth + 1;

/** The least height of the bar that says that a panel goes on below. */
const LEAST_BAR_PX = 64;
const LEAST_SHOWN_PX = 36;
/** What a panel is made of, beside its words: none of these shows in half. */
const PARTS = 'button, input, p, tr, .tile, .line, .card, .beat, .figure, .pacer';
const URGENT = '.u-high, .u-medium';

/**
 * How much of a scrolling box its lower edge must cover so that no part of it shows in half, and how much that is due lies
 * below; 0 where it ends there.
 */
export function coverOf(box: HTMLElement): { px: number; urgent: number } {
  if (getComputedStyle(box).overflowY === 'visible' || box.scrollHeight - box.clientHeight - box.scrollTop < 4) return { px: 0, urgent: 0 };
  const frame = box.getBoundingClientRect();
  // Something of the panel always shows.
  const highest = frame.top + LEAST_SHOWN_PX;
  const parts = [...box.querySelectorAll('*')]
    .filter((part) => part.childElementCount === 0 || part.matches(PARTS))
    .map((part) => part.getBoundingClientRect());
  let edge = frame.bottom - LEAST_BAR_PX;
  for (;;) {
    const at = edge;
    const cut = parts.filter((part) => part.height > 0 && part.top < at - 1 && part.bottom > at + 1 && part.top >= highest);
    if (cut.length === 0) {
      const urgent = [...box.querySelectorAll(URGENT)].filter((one) => one.getBoundingClientRect().bottom > at + 1).length;
      return { px: Math.round(frame.bottom - at), urgent };
    }
    edge = Math.min(...cut.map((part) => part.top));
  }
}

/** Shows as many of the element's children as its box holds, from the first on; the others are left out whole. */
export function whole(node: HTMLElement, _content: string): Fitted {
  return settled(node, () => {
    const parts = [...node.children] as HTMLElement[];
    for (const part of parts) part.hidden = false;
    for (const part of parts.slice(1).reverse()) {
      if (!overflows(node)) return;
      part.hidden = true;
    }
  });
}

/**
 * Where a task has more to say than its box holds: first a smaller countdown, then smaller lines, then the last lines are
 * left out whole. The first two, the dose and for which weight it is, always stay: where even they do not fit, it scrolls.
 */
export function squeeze(node: HTMLElement, _content: string): Fitted {
  return settled(node, () => {
    const lines = [...node.querySelectorAll<HTMLElement>('.lines > *')];
    for (const line of lines) line.hidden = false;
    node.dataset['tight'] = '0';
    for (const level of ['1', '2']) {
      if (!overflows(node)) return;
      node.dataset['tight'] = level;
    }
    for (const line of lines.slice(2).reverse()) {
      if (!overflows(node)) return;
      line.hidden = true;
    }
    if (overflows(node)) node.dataset['tight'] = '3';
  });
}
