// npm run soak [-- --minutes 10] [--buffer-ms 25]: plays the opening path in stereo in a real Chromium while values are dragged, and counts under-runs beside
// those of an idle audio context in the same page. --buffer-ms: of the output, in place of what the page asks for. Needs a build (npm run build); prints one line a minute and both counts at the end.
import { parseArgs } from 'node:util';
import { chromium } from 'playwright-core';
import { preview } from 'vite';
import { findOrInstallChromium } from '../run/chromium.mjs';

const { values } = parseArgs({ options: { 'buffer-ms': { type: 'string' }, minutes: { type: 'string', default: '10' }, loop: { type: 'string', default: 'trio-stereo' } } });
const minutes = Number(values.minutes);
if (!(minutes > 0)) throw new Error(`--minutes: expected a number above 0, got ${values.minutes}`);

const server = await preview({ configFile: 'ui/page/vite.config.ts', preview: { port: 0, open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: findOrInstallChromium(console.log),
  args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required', '--disable-background-networking'],
});
const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
const bufferMs = values['buffer-ms'] === undefined ? null : Number(values['buffer-ms']);
if (bufferMs !== null && !(bufferMs > 0)) throw new Error(`--buffer-ms: expected a number above 0, got ${values['buffer-ms']}`);
await page.addInitScript((asked) => {
  const Native = window.AudioContext;
  window.soakContexts = [];
  window.AudioContext = class extends Native {
    constructor(options) {
      super(asked === null ? options : { ...options, latencyHint: asked / 1000 });
      window.soakContexts.push(this);
    }
  };
  window.startIdleContext = async () => {
    window.idleContext = new Native({ sampleRate: 48_000 });
    const source = 'registerProcessor("idle", class extends AudioWorkletProcessor { process() { return true; } });';
    await window.idleContext.audioWorklet.addModule(URL.createObjectURL(new Blob([source], { type: 'text/javascript' })));
    new AudioWorkletNode(window.idleContext, 'idle').connect(window.idleContext.destination);
  };
}, bufferMs);
page.on('pageerror', (error) => console.log(`page error: ${error.message}`));
await page.goto(server.resolvedUrls.local[0]);
await page.waitForTimeout(2000);
await page.evaluate((loop) => document.querySelector('stage-bench').dispatchEvent(new CustomEvent('bench-action', { bubbles: true, composed: true, detail: { kind: 'loop', loop } })), values.loop);
await page.evaluate(() => window.startIdleContext());
await page.keyboard.press('Space');
await page.waitForTimeout(3000);

const { baseLatencyMs, loopsBecause } = await page.evaluate(() => ({
  baseLatencyMs: window.soakContexts.map(({ state, baseLatency }) => (state === 'running' ? 1000 * baseLatency : 0)).reduce((a, b) => Math.max(a, b)),
  loopsBecause: document.querySelector('stage-bench').bench.state.live.loopsBecause,
}));
console.log(`${loopsBecause === null ? 'compiled code' : `loops: ${loopsBecause}`}, output buffer ${baseLatencyMs.toFixed(1)} ms`);

/** Under-runs so far: of the bench, and of the idle context. */
const underRuns = () => page.evaluate(() => {
  const count = (context) => context?.playbackStats?.underrunEvents ?? context?.playbackStats?.fallbackFramesEvents ?? null;
  return { bench: window.soakContexts.map(count).find((value) => value !== null) ?? null, idle: count(window.idleContext) };
});
const figures = () => page.evaluate(() => {
  const { audioLoad, lateBlocks } = document.querySelector('stage-bench').engine.readings;
  return `audio load ${Math.round(100 * audioLoad)} %, late blocks ${lateBlocks}`;
});
const atStart = await underRuns();
const editors = page.locator('value-editor');
const end = Date.now() + 60_000 * minutes;
let lastMinute = 0;
let changes = 0;
while (Date.now() < end) {
  const editor = editors.nth(changes % (await editors.count()));
  const box = await editor.boundingBox();
  if (box) {
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    for (let step = 1; step <= 20; step += 1) {
      await page.mouse.move(box.x + box.width / 2 + (step <= 10 ? 2 * step : 40 - 2 * step), box.y + box.height / 2);
      await page.waitForTimeout(50);
    }
    await page.mouse.up();
  }
  changes += 1;
  const minute = Math.floor((Date.now() - (end - 60_000 * minutes)) / 60_000);
  if (minute > lastMinute) {
    lastMinute = minute;
    console.log(`${minute} min, ${changes} drags: ${JSON.stringify(await underRuns())}; ${await figures()}`);
  }
}
const atEnd = await underRuns();
const since = (name) => (atEnd[name] === null ? 'not counted by this browser' : atEnd[name] - atStart[name]);
console.log(`under-runs in ${minutes} min with ${changes} drags: bench ${since('bench')}, idle ${since('idle')}; ${await figures()}`);
await browser.close();
await server.close();
