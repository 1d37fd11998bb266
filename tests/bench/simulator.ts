/**
 * A general-purpose circuit simulator, where one is installed, on the circuits of the bench: transient analysis that begins on the periodic orbit (our own, so that no time is spent on settling), harmonics of its
 * last periods, and the processor time it takes for a second of sound.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildProgram, chooseFrequency, cosineDrive, solveSteadyState } from '../../dsp/circuit/index.ts';
import { biasOf, cardOf, node, simulator } from '../support/netlist.ts';
import type { Stored } from '../support/netlist.ts';
import { convergedAt, fileOf, internalRateHz } from './circuits.ts';
import type { BenchCircuit, Level } from './circuits.ts';
import { splineHarmonics } from './spline.ts';

export interface SimulatorSettings {
  readonly method: 'trap' | 'gear';
  /** Relative tolerance; the absolute ones go with it. */
  readonly tolerance: number;
  /** Largest step: a period over this. */
  readonly stepsPerPeriod: number;
}

export const judgedOrders: readonly number[] = [2, 3, 4, 5];
/** Below this against the fundamental there is nothing to judge. */
const floorDb = -150;
const steadyFactor = 4;

export interface JudgedTone {
  readonly circuit: BenchCircuit;
  readonly frequencyHz: number;
  readonly level: Level;
  readonly peakVolts: number;
}

/** As the measuring grade is: at nominal level, then where the circuit has 1 % of distortion. */
export const judgedTones = (circuit: BenchCircuit, frequencyHz: number): readonly [JudgedTone, JudgedTone] => {
  const at = (level: Level): JudgedTone => ({ circuit, frequencyHz, level, peakVolts: convergedAt(fileOf(circuit.name), level, frequencyHz).peakVolts });
  return [at('nominal'), at('one-percent')];
};

/** Of H2–H5, given by `peakVoltsOf`, against the converged ones, dB; orders under the floor are left out. */
export function largestErrorDb(peakVoltsOf: (order: number) => number, { circuit, level, frequencyHz }: JudgedTone): number {
  const { harmonics } = convergedAt(fileOf(circuit.name), level, frequencyHz);
  const judged = harmonics.filter(({ order, db }) => judgedOrders.includes(order) && db >= floorDb);
  if (judged.length === 0) throw new Error(`${circuit.name}, ${frequencyHz} Hz: expected harmonics to judge, got none`);
  return Math.max(...judged.map(({ order, peakVolts }) => Math.abs(20 * Math.log10(peakVoltsOf(order) / peakVolts))));
}

/** Prepared once for all settings. */
export class SimulatedCircuit {
  readonly tone: JudgedTone;
  private readonly cards: readonly string[];
  private readonly outputCard: string;

  constructor(tone: JudgedTone) {
    const { circuit: { document }, frequencyHz, peakVolts } = tone;
    this.tone = tone;
    const rateHz = internalRateHz * steadyFactor;
    const program = buildProgram(document, { rateHz, rule: 'T24' });
    const frequency = chooseFrequency(frequencyHz, rateHz);
    const steady = solveSteadyState(program, { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles }, { wantSpectralRadius: false });
    const fine = steady.instances.at(-1)!;
    const stored: Stored = new Map(program.stateNames.map((name, k) => [name, fine.stored[k]!]));
    const input = document.components.find((component) => component.kind === 'input')!;
    // What is stored is that of one sample before the cosine's peak.
    const phase = 90 - (360 * frequencyHz) / rateHz;
    this.cards = document.components.flatMap((component) => (component === input
      ? [`vsbinput ${input.between.map(node).join(' ')} sin(${biasOf(document)} ${peakVolts} ${frequencyHz} 0 0 ${phase})`]
      : cardOf(component, stored)));
    const [plus, minus] = document.output.map(node);
    this.outputCard = `eout sbout 0 ${plus} ${minus} 1`;
  }

  /** Largest error of H2–H5 against the converged ones, dB; Infinity where the simulator gives up. */
  errorDb(settings: SimulatorSettings, periods = 4): number {
    try {
      return this.errorAfter(settings, periods);
    } catch (error) {
      if (error instanceof SimulatorFailure) return Infinity;
      throw error;
    }
  }

  private errorAfter(settings: SimulatorSettings, periods: number): number {
    const found = this.harmonics(settings, judgedOrders, periods);
    return largestErrorDb((order) => found.get(order)!, this.tone);
  }

  /** Peak volts of each order in the last of so many periods. Throws a SimulatorFailure. */
  harmonics(settings: SimulatorSettings, orders: readonly number[], periods: number): Map<number, number> {
    const { frequencyHz } = this.tone;
    const { times, volts } = this.wave(settings, periods);
    return splineHarmonics(times, volts, frequencyHz, (periods - 1) / frequencyHz, orders);
  }

  /** Processor seconds for a second of sound: of a long run less a short one, so that starting up is not counted. */
  secondsPerSecond(settings: SimulatorSettings, periods: number): number {
    const { frequencyHz } = this.tone;
    const short = this.seconds(settings, 1);
    const long = this.seconds(settings, 1 + periods);
    return (long - short) / (periods / frequencyHz);
  }

  private seconds(settings: SimulatorSettings, periods: number): number {
    return this.run(this.netlist(settings, periods, []), () => 0).seconds;
  }

  private wave(settings: SimulatorSettings, periods: number): { times: Float64Array; volts: Float64Array } {
    return this.run(this.netlist(settings, periods, ['set filetype=binary', 'write raw v(sbout)']), (folder) => binaryWave(readFileSync(join(folder, 'raw')))).result;
  }

  private netlist({ method, tolerance, stepsPerPeriod }: SimulatorSettings, periods: number, after: readonly string[]): string {
    const { circuit: { document }, frequencyHz } = this.tone;
    const end = periods / frequencyHz;
    const step = 1 / (frequencyHz * stepsPerPeriod);
    const scale = tolerance / 1e-3;
    return [
      '* bench circuit',
      `.options temp=${document.temperatureC} tnom=${document.temperatureC} gmin=1e-15 method=${method} reltol=${tolerance} vntol=${1e-6 * scale} abstol=${1e-12 * scale} chgtol=${1e-14 * scale} itl4=100`,
      ...this.cards, this.outputCard, '.save v(sbout)',
      '.control', `tran ${step} ${end} 0 ${step} uic`, ...after, 'quit', '.endc', '.end', '',
    ].join('\n');
  }

  private run<T>(netlist: string, read: (folder: string) => T): { result: T; seconds: number } {
    const folder = mkdtempSync(join(tmpdir(), 'stagebench-simulator-'));
    try {
      writeFileSync(join(folder, 'circuit.cir'), netlist);
      // The shell's clock of its children: milliseconds of processor time, user and system.
      const said = spawnSync('bash', ['-c', `TIMEFORMAT='spent %U %S'; time ${simulator} -b circuit.cir >said 2>&1`], { cwd: folder, encoding: 'utf8', timeout: 60_000 });
      const spent = /spent ([\d.]+) ([\d.]+)\s*$/.exec(said.stderr);
      if (spent === null || /aborted|timestep too small/i.test(readFileSync(join(folder, 'said'), 'latin1'))) {
        throw new SimulatorFailure(`${said.stderr}${readFileSync(join(folder, 'said'), 'latin1')}`.slice(-400));
      }
      return { result: read(folder), seconds: Number(spent[1]) + Number(spent[2]) };
    } finally {
      rmSync(folder, { recursive: true });
    }
  }
}

/** It did not come to the end. */
export class SimulatorFailure extends Error {
  override readonly name = 'SimulatorFailure';
}

/** The one vector of a binary file beside time. */
function binaryWave(bytes: Uint8Array): { times: Float64Array; volts: Float64Array } {
  const mark = 'Binary:\n';
  const head = Buffer.from(bytes).indexOf(mark) + mark.length;
  if (head < mark.length) throw new Error('simulator: expected a binary file, got none');
  const pairs = new Float64Array(Uint8Array.from(bytes.subarray(head, head + 16 * Math.floor((bytes.length - head) / 16))).buffer);
  return { times: pairs.filter((_, k) => k % 2 === 0), volts: pairs.filter((_, k) => k % 2 === 1) };
}
