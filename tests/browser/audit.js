//! What a screen must never do to its words, measured on the page as it stands: too little contrast, cut, or covered.

/** Contrast of all text, W3C WCAG 2.2 relative luminance; level AAA asks 7:1 (1.4.6), and this project asks it of all text. */
export const CONTRAST = 7;

/** Texts whose contrast with what lies behind them is below `least`, in words. */
export function lowContrast(page, least = CONTRAST) {
  return page.evaluate((least) => {
    const parse = (color) => {
      const parts = /rgba?\(([^)]*)\)/.exec(color)?.[1].split(/[ ,/]+/).map(Number);
      return parts ? { rgb: parts.slice(0, 3), alpha: parts[3] ?? 1 } : null;
    };
    const over = (top, below) => top.rgb.map((part, place) => part * top.alpha + below[place] * (1 - top.alpha));
    /** Every colour that can lie behind an element: its own and its parents' down to the first that covers. */
    const behind = (element) => {
      const layers = [];
      for (let one = element; one; one = one.parentElement) {
        const style = getComputedStyle(one);
        if (style.backgroundImage !== 'none') throw new Error(`a picture lies behind “${element.textContent.trim().slice(0, 40)}”: contrast cannot be measured`);
        const color = parse(style.backgroundColor);
        if (color && color.alpha > 0) layers.push(color);
        if (color && color.alpha === 1) break;
      }
      return layers.reverse().reduce((below, layer) => over(layer, below), [255, 255, 255]);
    };
    const luminance = (rgb) => {
      const [red, green, blue] = rgb.map((part) => (part / 255 <= 0.04045 ? part / 255 / 12.92 : ((part / 255 + 0.055) / 1.055) ** 2.4));
      return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const opacity = (element) => {
      let part = 1;
      for (let one = element; one; one = one.parentElement) part *= Number(getComputedStyle(one).opacity);
      return part;
    };
    const found = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const element = node.parentElement;
      if (!node.data.trim() || !element.checkVisibility({ visibilityProperty: true }) || element.closest('.said')) continue;
      const back = behind(element);
      const color = parse(getComputedStyle(element).color);
      const front = over({ rgb: color.rgb, alpha: color.alpha * opacity(element) }, back);
      const [dark, light] = [luminance(front), luminance(back)].sort((one, other) => one - other);
      const ratio = (light + 0.05) / (dark + 0.05);
      if (ratio < least) found.push(`“${node.data.trim().slice(0, 40)}” ${ratio.toFixed(2)}:1, ${front.map(Math.round)} on ${back.map(Math.round)}`);
    }
    return [...new Set(found)];
  }, least);
}

/** Texts that are cut by a box that does not scroll, covered by something else, or beyond the edge of the page, in words. */
export function cutOff(page) {
  return page.evaluate(() => {
    const found = [];
    const name = (element) => element.closest('[data-testid]')?.dataset.testid ?? element.tagName;
    const clips = (overflow) => overflow === 'hidden' || overflow === 'clip';
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const element = node.parentElement;
      const text = node.data.trim();
      // What is for ears only has no place on the page.
      if (!text || !element.checkVisibility({ visibilityProperty: true }) || element.closest('.said')) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      // A line's box is higher than its letters: of our typeface by a quarter of an em above the tallest (1.025 em of ascent,
      // letters to 0.78; read from the font), a twentieth below the tails.
      const slack = 2 + 0.2 * parseFloat(getComputedStyle(element).fontSize);
      for (const box of range.getClientRects()) {
        if (box.width < 1 || box.height < 1) continue;
        const say = (what) => found.push(`${what}: “${text.slice(0, 40)}” in ${name(element)}`);
        if (box.left < -1 || box.right > innerWidth + 1) say('beyond the edge');
        let scrolled = false;
        for (let one = element; one && one !== document.documentElement; one = one.parentElement) {
          const style = getComputedStyle(one);
          const frame = one.getBoundingClientRect();
          if (clips(style.overflowY) && (box.top < frame.top - slack || box.bottom > frame.bottom + slack)) say('cut in height');
          if (clips(style.overflowX) && (box.left < frame.left - 2 || box.right > frame.right + 2)) say('cut in width');
          // What a scrolling box hides can be scrolled to.
          if (/auto|scroll/.test(style.overflowY)) {
            scrolled = box.top < frame.top || box.bottom > frame.bottom;
            break;
          }
        }
        const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
        if (scrolled || x < 0 || y < 0 || x >= innerWidth || y >= innerHeight) continue;
        const hit = document.elementFromPoint(x, y);
        // What stays at an edge while the page scrolls covers what scrolls under it.
        if (hit && !hit.contains(element) && !element.contains(hit) && !hit.closest('[data-testid=hands], [data-testid=below]')) say(`covered by ${name(hit)}`);
      }
    }
    for (const box of document.querySelectorAll('html, [data-testid=screen], main, main > *')) {
      if (box.scrollWidth > box.clientWidth + 1) found.push(`wider than the page: ${name(box)} ${box.className}`);
    }
    return [...new Set(found)];
  });
}
