// The chain inside a real audio worklet of a headless Chromium.
import { createServer } from 'node:http';
import { chromium } from 'playwright-core';
import { findOrInstallChromium } from '../run/chromium.mjs';
import { bundle } from './bundle.mjs';

/** @param {(line: string) => void} say @returns {Promise<import('./chromium/page.ts').ChromiumFigures>} */
export async function timeInChromium(say) {
  const script = await bundle('tests/bench/chromium/page.ts', 'dist/bench/page.js', 'iife', 'browser');
  const processor = await bundle('tests/bench/chromium/processor.ts', 'dist/bench/processor.js', 'iife', 'browser');
  // Worklets are for secure contexts alone: a page of this machine is one.
  const server = createServer((_, response) => { response.setHeader('Content-Type', 'text/html'); response.end('<!doctype html><title>speed</title>'); });
  await new Promise((resolve) => { server.listen(0, 'localhost', resolve); });
  const browser = await chromium.launch({
    executablePath: findOrInstallChromium(say),
    args: ['--no-sandbox', '--disable-background-networking', '--autoplay-policy=no-user-gesture-required'],
  });
  try {
    const page = await browser.newPage();
    await page.goto(`http://localhost:${server.address().port}/`);
    await page.addScriptTag({ content: script });
    return await page.evaluate((source) => window.timeChain(source), processor);
  } finally {
    await browser.close();
    server.close();
  }
}
