// What the tests and the pictures stand on: the service, and a browser.

import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const repository = fileURLToPath(new URL('../../..', import.meta.url));

/** The browser: Debian's, unless CHROMIUM names another. */
const executable = process.env.CHROMIUM ?? '/usr/bin/chromium';

/**
 * startService builds the service and serves it on free ports of the loopback
 * interface. EVENREACH may name a binary to serve instead.
 * @param {string[]} options more options of serve
 * @returns {Promise<{url: string, stop: function(): Promise}>}
 */
export async function startService(options = []) {
  const scratch = mkdtempSync(join(tmpdir(), 'worksheet-'));
  let binary = process.env.EVENREACH;
  if (!binary) {
    binary = join(scratch, 'evenreach');
    execFileSync('go', ['build', '-o', binary, './cmd/evenreach'], { cwd: repository, stdio: 'inherit' });
  }
  const free = '127.0.0.1:0';
  const child = spawn(binary, ['serve', '--insecure-no-auth', '--drain-delay=0s',
    `--http-address=${free}`, `--grpc-address=${free}`, `--admin-address=${free}`, ...options], { stdio: ['ignore', 'ignore', 'pipe'] });
  const ended = new Promise((resolve) => { child.once('exit', resolve); });
  const stop = async () => {
    child.kill('SIGTERM');
    await ended;
    rmSync(scratch, { recursive: true });
  };
  for await (const line of createInterface({ input: child.stderr })) {
    const told = JSON.parse(line);
    if (told.msg === 'serving') {
      child.stderr.resume();
      return { url: `http://${told.http}`, stop };
    }
  }
  throw new Error('the service ended before it served');
}

/** launch starts a browser without a window, and without a profile. */
export const launch = () => chromium.launch({
  executablePath: executable,
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});

/** openWorksheet opens the page with a window of the given size. */
export async function openWorksheet(browser, url, { width = 1280, height = 900, ...more } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, ...more });
  const page = await context.newPage();
  await page.goto(`${url}/worksheet/`);
  return page;
}

/** showExample fills the page with an invented visit. */
export async function showExample(page, visit) {
  await page.locator('.start summary').click();
  await page.locator(`[data-example="${visit}"]`).click();
  await page.locator('#result section').first().waitFor();
  await page.locator('.start summary').click();
}
