/** Harmonics of one circuit at one level: steady state, then projection. Off the audio thread. */
import { cos, ratioToDecibels } from '../math/index.ts';
import { chooseFrequency, cosineDrive, projectHarmonics } from './frequency.ts';
import type { HarmonicProjection } from './frequency.ts';
import type { CircuitProgram, IntegrationRule } from './program.ts';
import { steadyHarmonics } from './steady-harmonics.ts';
import { solveSteadyState } from './steady-state.ts';
import type { SteadyState } from './steady-state.ts';

export interface MeasuredHarmonic {
  readonly order: number;
  /** |an / a1|. */
  readonly ratio: number;
  /** p |an/a1| cos(φn − n φ1'): p the output's polarity, φ1' the fundamental's phase folded to (−90°, 90°]. */
  readonly signedRatio: number;
  /** Of the ratio; −∞ for 0. */
  readonly db: number;
  /** φn, relative to a cosine drive. */
  readonly phaseDegrees: number;
}

export interface HarmonicFigures {
  readonly fundamental: { readonly peakVolts: number; readonly phaseDegrees: number };
  /** Mean while driven. */
  readonly dcVolts: number;
  readonly harmonics: readonly MeasuredHarmonic[];
  /** Root sum of squares of the orders asked for over the fundamental (f), and over fundamental and harmonics together (r). */
  readonly thd: { readonly f: number; readonly r: number };
}

export interface SolverFigures {
  readonly method: 'shooting' | 'settling';
  readonly rule: IntegrationRule;
  readonly spectralRadius: number;
  readonly meanIterations: number;
  readonly capHits: number;
  /** Where a grade chose the rule: its estimated error at 10 kHz, and what the grade asks for, dB. */
  readonly ruleErrorDb?: number;
  readonly ruleLimitDb?: number;
}

export interface SteadyMeasurement extends HarmonicFigures {
  readonly oscillates?: undefined;
  /** The frequency in fact used. */
  readonly frequencyHz: number;
  /** Output at rest. */
  readonly restVolts: number;
  readonly solver: SolverFigures;
}

/** Not harmonics: the circuit oscillates or is bistable. */
export interface OscillationReport {
  readonly oscillates: true;
  readonly spectralRadius: number;
}

export type CircuitMeasurement = SteadyMeasurement | OscillationReport;

export interface MeasureOptions {
  readonly frequencyHz: number;
  /** Of the cosine at the circuit's input, bias excluded. */
  readonly peakVolts: number;
  /** Harmonic orders from 2 on. */
  readonly orders: readonly number[];
}

export function measureCircuit(program: CircuitProgram, { frequencyHz, peakVolts, orders }: MeasureOptions): CircuitMeasurement {
  const frequency = chooseFrequency(frequencyHz, program.rateHz);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles });
  if (steady.oscillates) return { oscillates: true, spectralRadius: steady.spectralRadius };
  return {
    frequencyHz: frequency.hz,
    ...figuresOfProjection(steadyHarmonics(steady, frequency.cycles, [1, ...orders]), orders),
    restVolts: program.restOutputVolts,
    solver: solverFigures(program, steady),
  };
}

export function solverFigures({ rule, ruleChoice }: CircuitProgram, { method, spectralRadius, meanIterations, capHits }: SteadyState): SolverFigures {
  const figures = { method, rule, spectralRadius, meanIterations, capHits };
  return ruleChoice === null ? figures : { ...figures, ruleErrorDb: ruleChoice.errorDb, ruleLimitDb: ruleChoice.limitDb };
}

const degreesPerRadian = 180 / Math.PI;

/** What a period holding `cycles` cycles says of its harmonics, the drive being a cosine. */
export function harmonicFigures(wave: Float64Array, cycles: number, orders: readonly number[]): HarmonicFigures {
  return figuresOfProjection(projectHarmonics(wave, cycles, [1, ...orders]), orders);
}

/** The same of a projection onto 1 and then `orders`. */
export function figuresOfProjection({ dcVolts, amplitudes, phases }: HarmonicProjection, orders: readonly number[]): HarmonicFigures {
  const fundamental = amplitudes[0]!;
  const phase = phases[0]!;
  const inverted = !(phase > -Math.PI / 2 && phase <= Math.PI / 2);
  const folded = !inverted ? phase : phase > 0 ? phase - Math.PI : phase + Math.PI;
  const harmonics = orders.map((order, k) => {
    const ratio = fundamental > 0 ? amplitudes[k + 1]! / fundamental : 0;
    const shape = cos(phases[k + 1]! - order * folded);
    return {
      order, ratio, signedRatio: (inverted ? -1 : 1) * ratio * shape, db: ratioToDecibels(ratio), phaseDegrees: phases[k + 1]! * degreesPerRadian,
    };
  });
  const f = Math.sqrt(harmonics.reduce((sum, { ratio }) => sum + ratio * ratio, 0));
  return {
    fundamental: { peakVolts: fundamental, phaseDegrees: phase * degreesPerRadian },
    dcVolts,
    harmonics,
    thd: { f, r: f / Math.sqrt(1 + f * f) },
  };
}
