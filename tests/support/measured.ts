// Harmonics of circuit documents for the reference tests: fine steps, so that what is compared is the model and not the step.
import { buildProgram, chooseFrequency, cosineDrive, harmonicFigures, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, HarmonicFigures, SteadyState } from '../../dsp/circuit/index.ts';

export interface Drive {
  readonly peakVolts: number;
  /** Default 1000. */
  readonly frequencyHz?: number;
  /** Samples in the one cycle computed; default 4096. */
  readonly frames?: number;
  /** Default 2 … 9. */
  readonly orders?: readonly number[];
}

export interface Measured extends HarmonicFigures {
  readonly steady: SteadyState;
  /** Over all orders, from the wave's own power: √(2 (⟨y²⟩ − ⟨y⟩²)/b1² − 1). */
  readonly thdAll: number;
  readonly restVolts: number;
  signed(order: number): number;
}

const defaultOrders = [2, 3, 4, 5, 6, 7, 8, 9];

/** Periodic steady state and harmonics of `document` driven with a cosine. Throws where it oscillates. */
export function measured(document: CircuitDocument, { peakVolts, frequencyHz = 1000, frames = 4096, orders = defaultOrders }: Drive): Measured {
  const program = buildProgram(document, { rateHz: frequencyHz * frames });
  const frequency = chooseFrequency(frequencyHz, program.rateHz);
  if (frequency.cycles !== 1 || frequency.periodFrames !== frames) throw new Error(`expected one cycle in ${frames} samples, got ${frequency.cycles} in ${frequency.periodFrames}`);
  const steady = solveSteadyState(program, { input: cosineDrive(frequency, peakVolts) }, { wantSpectralRadius: false });
  if (steady.oscillates || steady.method !== 'shooting') throw new Error(`expected a steady state by shooting, got ${steady.method}, oscillates ${steady.oscillates}`);
  const figures = harmonicFigures(steady.output, 1, orders);
  const power = steady.output.reduce((sum, volts) => sum + (volts - figures.dcVolts) ** 2, 0) / frames;
  return {
    ...figures,
    steady,
    thdAll: Math.sqrt(Math.max(0, (2 * power) / figures.fundamental.peakVolts ** 2 - 1)),
    restVolts: program.restOutputVolts,
    signed: (order) => {
      const found = figures.harmonics.find((harmonic) => harmonic.order === order);
      if (found === undefined) throw new Error(`order ${order} was not measured`);
      return found.signedRatio;
    },
  };
}

/** Where `f` crosses zero between `low` and `high` (opposite signs there), to `tolerance` in the argument: regula falsi, Illinois variant. */
export function crossing(f: (x: number) => number, low: number, high: number, tolerance: number): number {
  let [a, b] = [low, high];
  let [fa, fb] = [f(a), f(b)];
  if (!(fa * fb <= 0)) throw new Error(`no crossing between ${low} (${fa}) and ${high} (${fb})`);
  for (let round = 0; round < 100; round += 1) {
    const x = b - (fb * (b - a)) / (fb - fa);
    const fx = f(x);
    if (fx * fb <= 0) [a, fa] = [b, fb];
    else fa /= 2;
    [b, fb] = [x, fx];
    if (fx === 0 || Math.abs(b - a) <= tolerance) return b;
    // The bracket closes from one side at a time: the step taken says when that side has arrived.
    if (Math.abs((fb * (b - a)) / (fb - fa)) <= tolerance / 4) return b;
  }
  throw new Error(`no crossing found between ${low} and ${high}`);
}

/** Argument of the largest value of a function with one maximum between `low` and `high`: golden section, to `tolerance`. */
export function peakOf(f: (x: number) => number, low: number, high: number, tolerance: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [low, high];
  let [c, d] = [b - ratio * (b - a), a + ratio * (b - a)];
  let [fc, fd] = [f(c), f(d)];
  while (b - a > tolerance) {
    if (fc > fd) {
      [b, d, fd] = [d, c, fc];
      c = b - ratio * (b - a);
      fc = f(c);
    } else {
      [a, c, fc] = [c, d, fd];
      d = a + ratio * (b - a);
      fd = f(d);
    }
  }
  return (a + b) / 2;
}
