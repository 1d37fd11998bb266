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

const worstBlocks = node.chain.firstBlocks.map(({ start, change }) => Math.max(start, change)).sort((a, b) => a - b);
const smallest = (list) => (list === null || list.length === 0 ? null : Math.min(...list.map(({ ratio }) => ratio)));
const figures = {
  kernels: Object.fromEntries(Object.entries(node.kernels).map(([name, { nsPerSample, ratioToCppO3, ratioToCppNativeTwoLane, rule }]) => [name, { nsPerSample, ratioToCppO3, ratioToCppNativeTwoLane, rule }])),
  chain: { realTimeT1: node.chain.realTimeT1, realTimeListening: node.chain.realTimeListening, worstBlockRatio: worstBlocks[Math.floor(worstBlocks.length / 2)] },
  chromium: { realTimeListening: chromium?.realTimeListening ?? null, lateBlocks: chromium?.lateBlocks ?? null },
  render: { realTimePerCore: render?.realTimePerCore ?? null, twoWorkersRatio: render?.twoWorkersRatio ?? null },
  simulatorRatio: { at1kHz: smallest(node.simulator.at1kHz), at10kHz: smallest(node.simulator.at10kHz) },
};

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
