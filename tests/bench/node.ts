/** npm run bench, the part that runs in Node: prints one object. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { chainPlan, chainRunner } from './chain.ts';
import { benchCircuits, coreCircuit } from './circuits.ts';
import { compilerIsInstalled } from './cpp/build.ts';
import { timeKernel } from './kernel-timing.ts';
import type { KernelTiming } from './kernel-timing.ts';
import { timeLevelSweep } from './level-sweep.ts';
import { median } from './median.ts';
import { simulatorRatios } from './simulator-ratio.ts';
import { realTimes, timePaths, timeStages } from './stage-timing.ts';

const rounds = 7;
const frames = 48_000;
const coldStarts = 3;

const lack = installCompiledCode();
if (lack !== null) throw new Error(`expected an engine with WebAssembly, got ${lack}`);
const compiled = compilerIsInstalled();

const kernels = Object.fromEntries(Object.entries(benchCircuits).map(([name, circuit]): [string, KernelTiming & { rule: string }] =>
  [name, { ...timeKernel(circuit, 1000, circuit.nominalPeakVolts, rounds, frames, compiled), rule: 'T1' }]));
const cores = { [coreCircuit.name]: { ...timeKernel(coreCircuit, 1000, coreCircuit.nominalPeakVolts, rounds, frames, compiled), rule: 'S1' } };

const plans = { T1: chainPlan('T1'), listening: chainPlan('listening') };
const chain = {
  realTimeT1: median(realTimes(chainRunner(plans.T1), rounds)),
  realTimeListening: median(realTimes(chainRunner(plans.listening), rounds)),
  listeningRules: plans.listening.stages.map(({ stage, wired: { program } }) => `${stage} ${program.kind === 'circuit' ? program.circuit.rule : ''}`),
  firstBlocks: Array.from({ length: coldStarts }, () => JSON.parse(execFileSync(process.execPath, ['dist/bench/first-blocks.mjs'], { encoding: 'utf8' })) as { start: number; change: number }),
};

const levelSweep = timeLevelSweep(rounds);
const stages = timeStages(rounds);
const paths = timePaths(rounds);
mkdirSync('dist/bench', { recursive: true });
writeFileSync('dist/bench/opening.setting.json', writeSetting(openingSetting()));

process.stdout.write(`${JSON.stringify({ kernels, cores, chain, stages, paths, levelSweep, simulator: { at1kHz: simulatorRatios(1000, 3), at10kHz: simulatorRatios(10_000, 3) } })}\n`);
