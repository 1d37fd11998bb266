// npm run bench: how fast the bench is, beside C++ of the same kernels, in Node and in a Chromium audio worklet. A table for people; with --json one object, where null is what could not be measured.
import { spawnSync } from 'node:child_process';
import { cpus, loadavg } from 'node:os';
import { bundle } from './bundle.mjs';
import { timeInChromium } from './chromium.mjs';
import { renderTables } from './tables.mjs';
import { timeRenders } from './renders.mjs';

const json = process.argv.includes('--json');
const say = (line) => { if (!json) console.log(line); };
const loadBefore = loadavg()[0];

await bundle('tests/bench/first-blocks.ts', 'dist/bench/first-blocks.mjs');
await bundle('tests/bench/node.ts', 'dist/bench/node.mjs');
const inNode = spawnSync(process.execPath, ['dist/bench/node.mjs'], { encoding: 'utf8', maxBuffer: 1e8, stdio: ['ignore', 'pipe', 'inherit'] });
if (inNode.status !== 0) process.exit(1);
const node = JSON.parse(inNode.stdout);
// What cannot be measured on this machine is said and left out; it does not take the other figures along.
const chromium = await attempt('Chromium', () => timeInChromium(say));
const render = await attempt('render', timeRenders);

await bundle('tests/bench/figures.ts', 'dist/bench/figures.mjs');
const { figuresOf } = await import('../../dist/bench/figures.mjs');
const figures = figuresOf(node, chromium, render);

if (json) console.log(JSON.stringify(figures));
else for (const line of renderTables({ figures, node, chromium, machine: { model: cpus()[0].model, cores: cpus().length, loadBefore, loadAfter: loadavg()[0] } })) console.log(line);

async function attempt(name, measure) {
  try {
    return await measure();
  } catch (error) {
    process.stderr.write(`${name}: not measured: ${error.message}\n`);
    return null;
  }
}
