// Makes the pictures of the README: node pictures.mjs DIRECTORY

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { launch, openWorksheet, showExample, startService } from './harness.mjs';

const directory = process.argv[2];
if (!directory) {
  console.error('usage: node pictures.mjs DIRECTORY');
  process.exit(2);
}
mkdirSync(directory, { recursive: true });
const service = await startService();
const browser = await launch();
try {
  const desk = await openWorksheet(browser, service.url, { width: 1280, height: 1062 });
  await showExample(desk, 5);
  await desk.evaluate(() => scrollTo(0, 0));
  await desk.screenshot({ path: join(directory, 'fifth-visit.png') });

  const tablet = await openWorksheet(browser, service.url, { width: 820, height: 1040 });
  await showExample(tablet, 1);
  await tablet.locator('#answer-heading').evaluate((heading) => heading.scrollIntoView({ behavior: 'instant' }));
  await tablet.screenshot({ path: join(directory, 'first-visit-on-a-tablet.png') });
} finally {
  await browser.close();
  await service.stop();
}
