// Makes the icons' PNG files from public/icon.svg, with the distribution's Chromium. Run with `npm run icons` after the drawing changed.
import { readFileSync } from 'node:fs';
import { chromium } from 'playwright-core';

const drawing = readFileSync(new URL('./public/icon.svg', import.meta.url), 'utf8');
const browser = await chromium.launch({ executablePath: process.env.COXSWAIN_CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
for (const size of [192, 512]) {
  const page = await browser.newPage({ viewport: { width: size, height: size } });
  await page.setContent(`<body style="margin:0"><img width="${size}" height="${size}" src="data:image/svg+xml,${encodeURIComponent(drawing)}">`);
  await page.screenshot({ path: new URL(`./public/icon-${size}.png`, import.meta.url).pathname });
}
await browser.close();
