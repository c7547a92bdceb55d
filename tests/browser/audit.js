//! What a screen must never do to its words, measured on the page as it stands: too little contrast, cut, or covered.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

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

/** Least size of what is touched, and least distance between two of them, in CSS px (docs/design-language.md). */
export const TARGET = 64;
export const APART = 8;
/** Least size of the main action on a tablet: 20 mm at 5.2 px a mm. */
export const MAIN_TARGET = 104;

/** What is touched and is too small, or too near to another, in words. */
export function badTargets(page, { target = TARGET, apart = APART, main = 0 } = {}) {
  return page.evaluate(({ target, apart, main }) => {
    const found = [];
    const name = (element) => `${element.dataset.testid ?? element.tagName} “${(element.innerText || element.placeholder || '').trim().replace(/\s+/g, ' ').slice(0, 30)}”`;
    const shown = [...document.querySelectorAll('button, input, select, a[href], summary, [role=button], [role=tab], [tabindex]:not([tabindex="-1"])')]
      // A box that can be scrolled by keys is no target.
      .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.matches('[data-scrolls]'));
    const seen = [];
    for (const one of shown) {
      const box = one.getBoundingClientRect();
      if (box.width < target - 0.5 || box.height < target - 0.5) found.push(`small: ${name(one)} ${Math.round(box.width)}x${Math.round(box.height)}`);
      if (main && one.matches('[data-testid=primary], .answer') && (box.width < main - 0.5 || box.height < main - 0.5)) found.push(`small for a main action: ${name(one)} ${Math.round(box.width)}x${Math.round(box.height)}`);
      // What a scrolling box hides is not touched.
      let [left, top, right, bottom] = [box.left, box.top, box.right, box.bottom];
      for (let up = one.parentElement; up; up = up.parentElement) {
        if (!/auto|scroll|hidden|clip/.test(getComputedStyle(up).overflowY)) continue;
        const frame = up.getBoundingClientRect();
        [left, top, right, bottom] = [Math.max(left, frame.left), Math.max(top, frame.top), Math.min(right, frame.right), Math.min(bottom, frame.bottom)];
      }
      // The undo bar, and the bar that says that a panel goes on, lie over what they cover for a while.
      if (right > left && bottom > top && !one.closest('[data-testid=undo], [data-testid=below]')) seen.push({ one, left, top, right, bottom });
    }
    for (let first = 0; first < seen.length; first += 1) {
      for (let second = first + 1; second < seen.length; second += 1) {
        const [a, b] = [seen[first], seen[second]];
        if (a.one.contains(b.one) || b.one.contains(a.one)) continue;
        const across = Math.max(a.left - b.right, b.left - a.right);
        const down = Math.max(a.top - b.bottom, b.top - a.bottom);
        if (Math.max(across, down) < apart - 0.5) found.push(`${Math.round(Math.max(across, down))} px apart: ${name(a.one)} and ${name(b.one)}`);
      }
    }
    return [...new Set(found)];
  }, { target, apart, main });
}

/** The height of the capitals of what shows under a selector, in px: by the letters themselves, as they are drawn. */
export function capitals(page, selector) {
  return page.evaluate((selector) => {
    const pen = document.createElement('canvas').getContext('2d');
    return [...document.querySelectorAll(selector)].filter((one) => one.checkVisibility()).map((one) => {
      const style = getComputedStyle(one);
      // Measured large, since a canvas rounds to whole px.
      pen.font = `${style.fontWeight} 1000px ${style.fontFamily}`;
      return { words: one.innerText.trim().replace(/\s+/g, ' '), px: (pen.measureText('H').actualBoundingBoxAscent / 1000) * parseFloat(style.fontSize) };
    });
  }, selector);
}

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core finds on the page as it stands, in words: each rule with the first element that breaks it. */
export async function axe(page) {
  await page.evaluate((source) => { if (!window.axe) (0, eval)(source); }, AXE);
  return page.evaluate(async () => {
    const { violations } = await window.axe.run(document, { resultTypes: ['violations'] });
    return violations.map((one) => `${one.id} (${one.nodes.length}): ${one.nodes[0].html.slice(0, 160)} ${one.nodes[0].failureSummary?.replace(/\s+/g, ' ').slice(0, 160)}`);
  });
}
