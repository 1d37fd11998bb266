/** Steady tones through one stage alone, at a wanted level. */
import { chooseFrequency, cosineDrive, harmonicFigures, solveSteadyState } from '../../../dsp/circuit/index.ts';
import type { HarmonicFigures } from '../../../dsp/circuit/index.ts';
import { dbuToPeakVolts, peakVoltsToDbu, resolveValues, stageById, steadyLinear, steadyShaping } from '../../../dsp/stages/index.ts';
import type { StageProgram, StageValues } from '../../../dsp/stages/index.ts';

/** Internal rate of the bench at its default: 48 kHz × 8. */
export const rateHz = 384_000;
const orders = [2, 3, 4, 5, 6, 7, 8, 9];

export interface Tone extends HarmonicFigures {
  readonly inputDbu: number;
  /** Of the fundamental at the stage's output, make-up included. */
  readonly outputDbu: number;
  /** By order. */
  readonly db: Readonly<Record<number, number>>;
}

/** One period of the stage's output (DC at rest taken off) for one period of input. */
export function steadyOutput(program: StageProgram, wave: Float64Array, cycles: number): Float64Array {
  if (program.kind === 'polynomial') return steadyShaping(program, wave);
  if (program.kind === 'linear') return steadyLinear(program, wave);
  const steady = solveSteadyState(program.circuit, { input: wave.map((x) => x * program.inputGain), cycles }, { wantSpectralRadius: false });
  if (steady.method !== 'shooting') throw new Error(`expected shooting to converge, got ${steady.method}`);
  return steady.output.map((y) => (y - program.circuit.restOutputVolts) * program.outputGain);
}

export function toneThrough(program: StageProgram, hz: number, inputDbu: number): Tone {
  const frequency = chooseFrequency(hz, rateHz);
  const output = steadyOutput(program, cosineDrive(frequency, dbuToPeakVolts(inputDbu)), frequency.cycles);
  const figures = harmonicFigures(output, frequency.cycles, orders);
  return {
    ...figures, inputDbu, outputDbu: peakVoltsToDbu(figures.fundamental.peakVolts),
    db: Object.fromEntries(figures.harmonics.map(({ order, db }) => [order, db])),
  };
}

/** The tone whose fundamental leaves the stage at this level. */
export function toneAtOutput(program: StageProgram, hz: number, outputDbu: number): Tone {
  let inputDbu = outputDbu;
  for (let round = 0; round < 20; round += 1) {
    const tone = toneThrough(program, hz, inputDbu);
    const off = outputDbu - tone.outputDbu;
    if (Math.abs(off) < 1e-4) return tone;
    inputDbu += off;
  }
  throw new Error(`no input gives ${outputDbu} dBu`);
}

export function programOf(id: string, given: StageValues = {}): StageProgram {
  const stage = stageById(id);
  return stage.program(resolveValues(stage, given), { rateHz, source: null });
}
