/**
 * Converged harmonics of the judged circuits: the readable solver at steps so small that the step no longer matters, extrapolated (Richardson: the trapezoidal rule's error goes
 * with h²). `makeConverged` writes tests/reference/converged.json through gen-converged.mjs; tests read that file with `convergedFigures`.
 */
import { readFileSync } from 'node:fs';
import { buildProgram, chooseFrequency, cosineDrive, projectHarmonics, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { circuitDesigns, nearClassBDesign } from './documents.ts';
import { crossing } from './measured.ts';

export type ConvergedLevel = 'nominal' | 'one-percent' | 'hard-clipped';

/** H`order` of the output: the vector (x, y) with wave Σ x cos(n φ) − y sin(n φ), φ that of the cosine drive. */
export interface ConvergedHarmonic {
  readonly order: number;
  readonly peakVolts: number;
  readonly phaseDegrees: number;
  /** Relative to the fundamental, dB. */
  readonly db: number;
  /** log2 of the change from the first to the second factor over that from the second to the third: 2 for a rule of second order. */
  readonly observedOrder: number;
  /** How far the extrapolation of the two finer factors lies from that of the two coarser ones, dB: the true error is about a sixteenth of it. */
  readonly doubtDb: number;
}

export interface ConvergedFigure {
  readonly circuit: string;
  readonly level: ConvergedLevel;
  readonly frequencyHz: number;
  /** Of the cosine at the input. */
  readonly peakVolts: number;
  readonly harmonics: readonly ConvergedHarmonic[];
}

export interface ConvergedFile {
  readonly note: string;
  readonly baseRateHz: number;
  readonly factors: readonly number[];
  readonly figures: readonly ConvergedFigure[];
}

const baseRateHz = 48_000;
/** Of the base rate; the last two are extrapolated, the first two tell how well that works. */
const factors = [128, 256, 512] as const;
const orders = [1, 2, 3, 4, 5, 6, 7, 8, 9];
const frequencies = [1000, 10_000];
/** Above the drive of 1 %. */
const hardClippedDb = 10;

interface Vector {
  readonly x: number;
  readonly y: number;
}

/** Harmonics `orders` of the steady state at `rateHz`. Throws where it is none. */
function harmonicVectors(document: CircuitDocument, rateHz: number, nominalPeakVolts: number, frequencyHz: number, peakVolts: number): Vector[] {
  const program = buildProgram(document, { rateHz, nominalPeakVolts, rule: 'T1' });
  const frequency = chooseFrequency(frequencyHz, rateHz);
  if (frequency.hz !== frequencyHz) throw new Error(`expected exactly ${frequencyHz} Hz, got ${frequency.hz}`);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles }, { wantSpectralRadius: false });
  if (steady.method !== 'shooting' || steady.oscillates || steady.capHits > 0) throw new Error(`expected a steady state by shooting, got ${steady.method} with ${steady.capHits} cap hits`);
  const { amplitudes, phases } = projectHarmonics(steady.output, frequency.cycles, orders);
  return orders.map((_, k) => ({ x: amplitudes[k]! * Math.cos(phases[k]!), y: amplitudes[k]! * Math.sin(phases[k]!) }));
}

const decibels = (ratio: number): number => 20 * Math.log10(ratio);
const lengthOf = ({ x, y }: Vector): number => Math.hypot(x, y);
const apart = (a: Vector, b: Vector): number => Math.hypot(a.x - b.x, a.y - b.y);
const extrapolated = (coarse: Vector, fine: Vector): Vector => ({ x: (4 * fine.x - coarse.x) / 3, y: (4 * fine.y - coarse.y) / 3 });

/** One circuit at one level and frequency. */
export function convergedHarmonics(document: CircuitDocument, nominalPeakVolts: number, frequencyHz: number, peakVolts: number): ConvergedHarmonic[] {
  const [first, second, third] = factors.map((factor) => harmonicVectors(document, baseRateHz * factor, nominalPeakVolts, frequencyHz, peakVolts)) as [Vector[], Vector[], Vector[]];
  const found = orders.map((_, k) => extrapolated(second[k]!, third[k]!));
  const fundamental = lengthOf(found[0]!);
  return orders.map((order, k) => ({
    order,
    peakVolts: lengthOf(found[k]!),
    phaseDegrees: (Math.atan2(found[k]!.y, found[k]!.x) * 180) / Math.PI,
    db: decibels(lengthOf(found[k]!) / fundamental),
    observedOrder: Math.log2(apart(first[k]!, second[k]!) / apart(second[k]!, third[k]!)),
    doubtDb: Math.abs(decibels(lengthOf(found[k]!) / lengthOf(extrapolated(first[k]!, second[k]!)))),
  }));
}

/** Drive at which `frequencyHz` has 1 % of H2–H9, above nominal; to four digits, so that the file can state it. */
function onePercentDrive(document: CircuitDocument, nominalPeakVolts: number, frequencyHz: number): number {
  const distortion = (peakVolts: number): number => {
    const [fundamental, ...harmonics] = harmonicVectors(document, baseRateHz * 32, nominalPeakVolts, frequencyHz, peakVolts).map(lengthOf) as [number, ...number[]];
    return Math.log(Math.hypot(...harmonics) / fundamental / 0.01);
  };
  let high = nominalPeakVolts;
  while (distortion(high) < 0) high *= 1.3;
  return Number(crossing(distortion, high / 1.3, high, 1e-5 * high).toPrecision(4));
}

/** @public The whole file anew; tests/reference/gen-converged.mjs calls it, through a bundle that the search for unused code cannot see. */
export function makeConverged(): ConvergedFile {
  const figures: ConvergedFigure[] = [];
  for (const { name, document, nominalPeakVolts } of [...circuitDesigns, nearClassBDesign]) {
    const circuit = document();
    for (const frequencyHz of frequencies) {
      const driven = onePercentDrive(circuit, nominalPeakVolts, frequencyHz);
      const levels: [ConvergedLevel, number][] = [['nominal', nominalPeakVolts], ['one-percent', driven]];
      if (name === 'common-emitter') levels.push(['hard-clipped', Number((driven * 10 ** (hardClippedDb / 20)).toPrecision(4))]);
      for (const [level, peakVolts] of levels) {
        figures.push({ circuit: name, level, frequencyHz, peakVolts, harmonics: convergedHarmonics(circuit, nominalPeakVolts, frequencyHz, peakVolts) });
      }
    }
  }
  return { note: 'made by gen-converged.mjs', baseRateHz, factors, figures };
}

/** What tests/reference/converged.json holds. */
export function convergedFigures(): ConvergedFile {
  return JSON.parse(readFileSync(new URL('../reference/converged.json', import.meta.url), 'utf8')) as ConvergedFile;
}
