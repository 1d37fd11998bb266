/** npm run bench, the part that runs in Node. Prints a table, or one object with --json. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { median, stagePrograms, timeCircuit, timeEverything } from './kernels.ts';
import { lastOutputVolts, yardstickNumbers } from './yardstick.ts';

const rounds = 7;
const now = () => performance.now();
const folder = 'dist/bench';

export interface YardstickRatio {
  readonly stage: string;
  readonly typescriptNanoseconds: number;
  readonly cppNanoseconds: number;
  readonly ratio: number;
  /** Relative difference of the last of 96,000 output volts. */
  readonly outputDifference: number;
}

/** Null where no C++ compiler is installed. */
function compileYardstick(): string | null {
  mkdirSync(folder, { recursive: true });
  const program = `${folder}/yardstick`;
  const compiled = spawnSync('g++', ['-O3', '-ffp-contract=off', '-o', program, 'tests/bench/yardstick.cpp'], { encoding: 'utf8' });
  if (compiled.error) return null;
  if (compiled.status !== 0) throw new Error(`yardstick.cpp: ${compiled.stderr}`);
  return program;
}

/** TypeScript and C++ in alternating rounds; medians. */
function timeAgainstYardstick(yardstick: string, stage: string, program: CircuitProgram): YardstickRatio {
  const file = `${folder}/${stage}.txt`;
  writeFileSync(file, yardstickNumbers(program));
  const ours: number[] = [];
  const theirs: number[] = [];
  let theirLastVolts = NaN;
  for (let round = -1; round < rounds; round += 1) {
    const time = timeCircuit(program, now);
    const run = spawnSync(yardstick, [file], { encoding: 'utf8' });
    if (run.status !== 0) throw new Error(`yardstick, ${stage}: ${run.stderr}`);
    const [nanoseconds, lastVolts] = run.stdout.trim().split(' ').map(Number);
    theirLastVolts = lastVolts!;
    if (round < 0) continue;
    ours.push(time);
    theirs.push(nanoseconds!);
  }
  const ourLastVolts = lastOutputVolts(program);
  const typescriptNanoseconds = median(ours);
  const cppNanoseconds = median(theirs);
  return {
    stage, typescriptNanoseconds, cppNanoseconds, ratio: typescriptNanoseconds / cppNanoseconds,
    outputDifference: Math.abs(ourLastVolts - theirLastVolts) / Math.abs(ourLastVolts),
  };
}

// First, so that everything is compiled when it is held against C++.
const node = timeEverything(rounds, now);
const yardstick = compileYardstick();
const yardsticks: YardstickRatio[] = [];
if (yardstick !== null) {
  for (const { stage, program } of stagePrograms()) {
    if (program.kind === 'circuit' && (stage === 'single-ended-bipolar' || stage === 'push-pull')) yardsticks.push(timeAgainstYardstick(yardstick, stage, program.circuit));
  }
}
process.stdout.write(`${JSON.stringify({ node, yardstick: yardstick === null ? null : yardsticks })}\n`);
