/** How much more processor time the general-purpose simulator takes than our kernels at equal accuracy: both within the same limit of the converged harmonics at nominal level and at 1 % of distortion, each with what is
 * cheapest for it; timed at both. */
import { buildProgram, chooseFrequency, CircuitRunner, cosineDrive, listeningTolerance, runnerBytes, solveSteadyState, steadyHarmonics } from '../../dsp/circuit/index.ts';
import type { CircuitProgram, IntegrationRule } from '../../dsp/circuit/index.ts';
import { createCodeMemory } from '../../dsp/webassembly/index.ts';
import { simulatorIsInstalled } from '../support/netlist.ts';
import { baseRateHz, benchCircuits } from './circuits.ts';
import { processorNanoseconds } from './clock.ts';
import { twoChannelTone } from './kernel-timing.ts';
import { median } from './median.ts';
import { judgedOrders, judgedTones, largestErrorDb, SimulatedCircuit } from './simulator.ts';
import type { JudgedTone, SimulatorSettings } from './simulator.ts';
import settingsFound from './simulator-settings.json';

/** Of H2–H5 on either side. */
export const limitDb = 0.01;
const blockFrames = 128;

export interface SimulatorRatio {
  readonly circuit: string;
  readonly frequencyHz: number;
  /** Ours: rule, internal rate over 48 kHz, error, processor seconds for a second of one channel's sound (stereo kernel), mean of both levels. */
  readonly rule: IntegrationRule;
  readonly factor: number;
  readonly errorDb: number;
  readonly seconds: number;
  /** Of the simulator, mean of both levels alike. */
  readonly settings: SimulatorSettings;
  readonly simulatorErrorDb: number;
  readonly simulatorSeconds: number;
  /** Median over the rounds. */
  readonly ratio: number;
}

interface FoundSettings {
  readonly circuit: string;
  readonly frequencyHz: number;
  readonly settings: SimulatorSettings;
}

/** Rule and factor that a path can have, by the steps a sample of the base rate that they take, fewest first. */
const ways: readonly (readonly (readonly [IntegrationRule, number])[])[] = [
  [['T1', 4]], [['T1', 8]], [['T12', 4]], [['T1', 16]], [['T12', 8], ['T24', 4]], [['T24', 8], ['T12', 16]], [['T24', 16]],
];

/** Of every circuit whose harmonics both sides bring within the limit; null where no simulator is installed. */
export function simulatorRatios(frequencyHz: 1000 | 10_000, rounds: number): SimulatorRatio[] | null {
  if (!simulatorIsInstalled()) return null;
  return Object.values(benchCircuits).flatMap((circuit) => {
    const tones = judgedTones(circuit, frequencyHz);
    const settings = (settingsFound as readonly FoundSettings[]).find((found) => found.circuit === circuit.name && found.frequencyHz === frequencyHz)?.settings;
    const ours = cheapestWay(tones);
    if (settings === undefined || ours === null) return [];
    const levels = tones.map((tone) => new SimulatedCircuit(tone));
    const simulatorErrorDb = Math.max(...levels.map((level) => level.errorDb(settings)));
    if (!(simulatorErrorDb <= limitDb)) return [];
    const times: { ours: number; theirs: number }[] = [];
    for (let round = 0; round < rounds; round += 1) {
      const theirs = levels.reduce((sum, level) => sum + level.secondsPerSecond(settings, 150), 0) / levels.length;
      times.push({ ours: ours.runner.secondsPerSecond(), theirs });
    }
    const { rule, factor, errorDb } = ours;
    return [{
      circuit: circuit.name, frequencyHz, rule, factor, errorDb, seconds: median(times.map((time) => time.ours)),
      settings, simulatorErrorDb, simulatorSeconds: median(times.map(({ theirs }) => theirs)), ratio: median(times.map((time) => time.theirs / time.ours)),
    }];
  });
}

/** The quickest of those with the fewest steps that suffice, warmed up. */
function cheapestWay(tones: readonly JudgedTone[]) {
  for (const alike of ways) {
    const good = alike.flatMap(([rule, factor]) => {
      const program = buildProgram(tones[0]!.circuit.document, { rateHz: baseRateHz * factor, rule });
      const errorDb = Math.max(...tones.map((tone) => ruleErrorDb(program, tone)));
      if (!(errorDb <= limitDb)) return [];
      const runner = new TimedRunner(program, tones);
      return [{ runner, rule, factor, errorDb, seconds: median([0, 1, 2].map(() => runner.secondsPerSecond())) }];
    });
    if (good.length > 0) return good.sort((a, b) => a.seconds - b.seconds)[0]!;
  }
  return null;
}

function ruleErrorDb(program: CircuitProgram, tone: JudgedTone): number {
  const frequency = chooseFrequency(tone.frequencyHz, program.rateHz);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, tone.peakVolts), cycles: frequency.cycles }, { wantSpectralRadius: false });
  if (steady.oscillates) return Infinity;
  const { amplitudes } = steadyHarmonics(steady, frequency.cycles, judgedOrders);
  return largestErrorDb((order) => amplitudes[judgedOrders.indexOf(order)]!, tone);
}

class TimedRunner {
  private readonly runner: CircuitRunner;
  private readonly blocks: readonly Float64Array[];
  private readonly inputs: readonly Float64Array[];
  private readonly program: CircuitProgram;

  constructor(program: CircuitProgram, tones: readonly JudgedTone[]) {
    const memory = createCodeMemory(runnerBytes(program, 2) + 32 * blockFrames);
    if (memory === null) throw new Error(`${program.title}: expected compiled code, got none`);
    this.program = program;
    this.runner = new CircuitRunner(program, 2, listeningTolerance, { memory, arena: memory.arena });
    this.blocks = [memory.arena.floats(blockFrames), memory.arena.floats(blockFrames)];
    this.inputs = tones.map(({ frequencyHz, peakVolts }) => twoChannelTone(program.rateHz / 8, frequencyHz, peakVolts, program.rateHz));
  }

  /** Of one channel of the two, mean of the tones. */
  secondsPerSecond(): number {
    const start = processorNanoseconds();
    for (const input of this.inputs) this.run(input);
    const frames = this.inputs.reduce((sum, input) => sum + input.length / 2, 0);
    return (1e-9 * (processorNanoseconds() - start) * this.program.rateHz) / (2 * frames);
  }

  private run(input: Float64Array): void {
    const { blocks, runner } = this;
    const frames = input.length / 2;
    runner.reset();
    for (let at = 0; at < frames; at += blockFrames) {
      const now = Math.min(blockFrames, frames - at);
      blocks[0]!.set(input.subarray(at, at + now));
      blocks[1]!.set(input.subarray(frames + at, frames + at + now));
      runner.process(blocks, 0, now);
    }
  }
}
