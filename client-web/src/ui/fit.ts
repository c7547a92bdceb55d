//! Makes a text as large as its box allows, so that it can be read from where people stand. It must not change the
//! text or the box.

/** Sets the largest font size at which the element's content fits into its parent. */
export function fit(node: HTMLElement, _content: string): { update: (content: string) => void; destroy: () => void } {
  const box = node.parentElement;
  let pending = 0;
  const settle = (): void => {
    pending = 0;
    if (!box) return;
    const style = getComputedStyle(box);
    const width = box.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
    const height = box.clientHeight - parseFloat(style.paddingTop) - parseFloat(style.paddingBottom);
    if (width <= 0 || height <= 0) return;
    let low = 12;
    let high = Math.max(low, Math.min(height, Number(node.dataset['most'] ?? 400)));
    for (let turn = 0; turn < 9; turn += 1) {
      const size = (low + high) / 2;
      node.style.fontSize = `${size}px`;
      if (node.scrollWidth <= width + 0.5 && node.scrollHeight <= height + 0.5) low = size;
      else high = size;
    }
    node.style.fontSize = `${Math.floor(low)}px`;
  };
  const ask = (): void => {
    if (!pending) pending = requestAnimationFrame(settle);
  };
  const watch = new ResizeObserver(ask);
  if (box) watch.observe(box);
  ask();
  return {
    update: ask,
    destroy: () => {
      watch.disconnect();
      cancelAnimationFrame(pending);
    },
  };
}
