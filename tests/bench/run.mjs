// npm run bench: speeds in Node and in Chromium, beside C++ -O3 of the same algorithm. --json prints one object.
import { spawnSync } from 'node:child_process';
import { chromium } from 'playwright-core';
import { rolldown } from 'rolldown';
import { findOrInstallChromium } from '../run/chromium.mjs';

const json = process.argv.includes('--json');
const say = (line) => { if (!json) console.log(line); };

async function bundle(input, file, format, platform) {
  const build = await rolldown({ input, platform, logLevel: 'warn' });
  const { output } = await build.write({ file, format });
  await build.close();
  return output[0].code;
}

await bundle('tests/bench/node.ts', 'dist/bench/node.mjs', 'es', 'node');
const inNode = spawnSync(process.execPath, ['dist/bench/node.mjs'], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'inherit'] });
if (inNode.status !== 0) process.exit(1);
const { node, yardstick } = JSON.parse(inNode.stdout);

const script = await bundle('tests/bench/browser.ts', 'dist/bench/browser.js', 'iife', 'browser');
const browser = await chromium.launch({ executablePath: findOrInstallChromium(say), args: ['--no-sandbox', '--disable-background-networking'] });
const page = await browser.newPage();
await page.addScriptTag({ content: script });
const inChromium = await page.evaluate(() => window.timeStagebench(7));
await browser.close();

if (json) {
  console.log(JSON.stringify({ node, chromium: inChromium, yardstick }));
} else {
  for (const [place, figures] of [['Node', node], ['Chromium', inChromium]]) {
    console.log(`\n${place}, medians of 7 rounds, 48 kHz × 8`);
    for (const { stage, nanoseconds, realTime } of figures.stages) {
      console.log(`  ${stage.padEnd(26)} ${nanoseconds.toFixed(0).padStart(5)} ns per internal sample and channel  ${realTime.toFixed(1).padStart(5)} × real time, mono`);
    }
    console.log(`  opening path with ladder   ${figures.openingPath.monoRealTime.toFixed(2)} × real time mono, ${figures.openingPath.stereoRealTime.toFixed(2)} × stereo`);
  }
  console.log(yardstick ? '\nSame algorithm by hand in C++ -O3, alternating rounds' : '\nNo C++ compiler: no yardstick');
  for (const { stage, typescriptNanoseconds, cppNanoseconds, ratio, outputDifference } of yardstick ?? []) {
    console.log(`  ${stage.padEnd(26)} TypeScript ${typescriptNanoseconds.toFixed(0)} ns, C++ ${cppNanoseconds.toFixed(0)} ns, ratio ${ratio.toFixed(2)}; outputs differ by ${outputDifference.toExponential(1)}`);
  }
}
