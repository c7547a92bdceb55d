//! Whether a picture of a screen looks like the one that was accepted: by a small grid of brightness, so that a few hundred bytes
//! stand for a picture. A moved or missing button, a wrong colour and a lost column show; digits that go on and the
//! smoothing of letters on another machine do not. It must not be asked whether a word is right: the other tests read words.

/** Cells of a picture, by its longer and shorter side; 24 x 18 px or more each, so that a digit is a part of one. */
const CELLS = [20, 15];
/** Brightness is kept in this many steps. */
const STEPS = 16;
/** A cell differs from this many steps on; by as many cells, or by one cell that far, a picture does. */
const CELL_STEPS = 3;
const FEW_CELLS = 3;
const FAR_STEPS = 7;

/** The grid of a PNG as hexadecimal digits, row by row. It is scaled down by a page of the browser, which reads PNGs anyway. */
export async function gridOf(page, png) {
  const grid = await page.evaluate(async ({ base64, cells, steps }) => {
    const bytes = Uint8Array.from(atob(base64), (one) => one.charCodeAt(0));
    const picture = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const [wide, high] = picture.width >= picture.height ? cells : [...cells].reverse();
    const canvas = new OffscreenCanvas(picture.width, picture.height).getContext('2d');
    canvas.drawImage(picture, 0, 0);
    const { data } = canvas.getImageData(0, 0, picture.width, picture.height);
    const [sum, count] = [new Float64Array(wide * high), new Float64Array(wide * high)];
    for (let y = 0; y < picture.height; y += 1) {
      for (let x = 0; x < picture.width; x += 1) {
        const cell = Math.floor((y * high) / picture.height) * wide + Math.floor((x * wide) / picture.width);
        const at = (y * picture.width + x) * 4;
        sum[cell] += 0.2126 * data[at] + 0.7152 * data[at + 1] + 0.0722 * data[at + 2];
        count[cell] += 1;
      }
    }
    return [...sum].map((one, cell) => Math.min(steps - 1, Math.floor((one / count[cell] / 256) * steps)).toString(steps)).join('');
  }, { base64: png.toString('base64'), cells: CELLS, steps: STEPS });
  return grid;
}

/** How far two grids differ, in words; null where they look alike. */
export function difference(accepted, found) {
  if (accepted.length !== found.length) return 'another size';
  const apart = [...accepted].map((one, cell) => Math.abs(parseInt(one, STEPS) - parseInt(found[cell], STEPS)));
  const cells = apart.filter((one) => one >= CELL_STEPS).length;
  const most = Math.max(...apart);
  return cells >= FEW_CELLS || most >= FAR_STEPS ? `${cells} of ${apart.length} cells differ, by up to ${most} of ${STEPS} steps` : null;
}
