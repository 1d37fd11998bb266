import { cos, sin } from '../math/index.ts';

/** One first-order section: y = b0 x + b1 x' − a1 y'. */
export interface FirstOrderSection {
  readonly b0: number;
  readonly b1: number;
  readonly a1: number;
}

/**
 * Poles of the weighting in Hz, from its definition: 10^1.5, 10^2.45, 10^3 and 10^3.9 Hz with 3 dB at the outer ones. The outer two are double.
 * Source: IEC 61672-1, annex on the analytical expressions; the values from memory, held in the tests against the table of the curve.
 */
export const aPolesHz = { lowest: 20.598997, low: 107.65265, middle: 737.86223, highest: 12194.217 } as const;

const referenceHz = 1000;
/** Where a low-pass section has the analogue power response exactly, besides 0 Hz: this and twice this, or less where half the rate is near. */
const matchedHz = 7500;
const matchedShareOfRate = 0.17;

/**
 * A-weighting as six first-order sections at `rateHz` (8–384 kHz), 0 dB at 1 kHz.
 *
 * High-passes by the bilinear transform: their poles are far below half the rate. The double pole at 12.2 kHz is not: the transform would be 2 dB
 * off at 10 kHz. A first-order section has the power response (1 + B φ)/(1 + C φ), φ = sin²(ω/2); B and C are chosen to meet the analogue one
 * at 7.5 and 15 kHz, then factored. Within 0.1 dB of the analytical curve from 10 Hz to 16 kHz and 1 dB to 20 kHz at 44.1 and 48 kHz, 0.05 dB from 88.2 kHz on;
 * at lower rates 0.1 dB to 0.36 of the rate, 0.4 dB at 8 kHz.
 */
export function aWeighting(rateHz: number): readonly FirstOrderSection[] {
  if (!(rateHz >= 8000 && rateHz <= 384_000)) throw new RangeError(`rate of the A-weighting: expected 8,000 to 384,000 Hz, got ${rateHz}`);
  const { lowest, low, middle, highest } = aPolesHz;
  const sections = [...[lowest, lowest, low, middle].map((hz) => highPass(hz, rateHz)), lowPass(highest, rateHz), lowPass(highest, rateHz)];
  const scale = 1 / Math.sqrt(powerAt(sections, referenceHz, rateHz));
  return sections.map((section, k) => (k === 0 ? { ...section, b0: scale * section.b0, b1: scale * section.b1 } : section));
}

function highPass(hz: number, rateHz: number): FirstOrderSection {
  const halfAngle = (Math.PI * hz) / rateHz;
  const k = sin(halfAngle) / cos(halfAngle);
  return { b0: 1 / (1 + k), b1: -1 / (1 + k), a1: (k - 1) / (1 + k) };
}

function lowPass(hz: number, rateHz: number): FirstOrderSection {
  // 1 + B φ = P (1 + C φ) at two frequencies.
  const lower = Math.min(matchedHz, matchedShareOfRate * rateHz);
  const [first, second] = [lower, 2 * lower].map((at) => ({ phi: halfSineSquared(at, rateHz), power: 1 / (1 + (at / hz) * (at / hz)) })) as [Matched, Matched];
  const left = (first.power - 1) / first.phi;
  const right = (second.power - 1) / second.phi;
  const c = (right - left) / (first.power - second.power);
  const b = left + first.power * c;
  const [b0, b1] = factored(b);
  const [a0, a1] = factored(c);
  return { b0: b0 / a0, b1: b1 / a0, a1: a1 / a0 };
}

interface Matched {
  readonly phi: number;
  readonly power: number;
}

/** The two taps, the larger first, whose power response is 1 + B φ = (p + q)² − 4 p q φ, with p + q = 1. */
function factored(b: number): [number, number] {
  const root = Math.sqrt(1 + b);
  return [(1 + root) / 2, (1 - root) / 2];
}

function halfSineSquared(hz: number, rateHz: number): number {
  const half = sin((Math.PI * hz) / rateHz);
  return half * half;
}

/** Power response of sections in series. */
function powerAt(sections: readonly FirstOrderSection[], hz: number, rateHz: number): number {
  const phi = halfSineSquared(hz, rateHz);
  return sections.reduce((power, { b0, b1, a1 }) => (power * ((b0 + b1) * (b0 + b1) - 4 * b0 * b1 * phi)) / ((1 + a1) * (1 + a1) - 4 * a1 * phi), 1);
}

/** A-weights one channel, sample after sample. */
export class AFilter {
  readonly #count: number;
  /** b0, b1, a1 of each section. */
  readonly #coefficients: Float64Array;
  readonly #states: Float64Array;

  constructor(rateHz: number) {
    const sections = aWeighting(rateHz);
    this.#count = sections.length;
    this.#coefficients = Float64Array.from(sections.flatMap(({ b0, b1, a1 }) => [b0, b1, a1]));
    this.#states = new Float64Array(sections.length);
  }

  /**
   * Adds the squares of the weighted `input[start … start + frames − 1]` to `sum`, one by one, so that the result is the same
   * however a signal is cut into pieces. Audio thread: allocates nothing, never throws.
   */
  addSquares(input: Float32Array | Float64Array, start: number, frames: number, sum: number): number {
    const coefficients = this.#coefficients;
    const states = this.#states;
    let total = sum;
    for (let i = start; i < start + frames; i += 1) {
      let x = input[i]!;
      for (let k = 0, at = 0; k < this.#count; k += 1, at += 3) {
        const y = coefficients[at]! * x + states[k]!;
        const state = coefficients[at + 1]! * x - coefficients[at + 2]! * y;
        states[k] = Math.abs(state) < 1e-30 ? 0 : state;
        x = y;
      }
      total += x * x;
    }
    return total;
  }

  reset(): void {
    this.#states.fill(0);
  }
}
