import { cos, decibelsToRatio, power, sin } from '../math/index.ts';

/** One second-order section, a0 = 1: y = b0 x + b1 x' + b2 x'' − a1 y' − a2 y''. */
export interface SecondOrderSection {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/** K-weighting: the shelf that stands for the head, then the revised low-frequency high-pass. */
export interface KWeighting {
  readonly shelf: SecondOrderSection;
  readonly highPass: SecondOrderSection;
}

/** Recommendation ITU-R BS.1770-5 (11/2023), Annex 1, Tables 1 and 2: the coefficients it prints, for 48 kHz. */
const tabulated48k: KWeighting = {
  shelf: { b0: 1.53512485958697, b1: -2.69169618940638, b2: 1.19839281085285, a1: -1.69065929318241, a2: 0.73248077421585 },
  highPass: { b0: 1, b1: -2, b2: 1, a1: -1.99004745483398, a2: 0.99007225036621 },
};

/** The analogue prototypes whose bilinear transforms at 48 kHz give those tables to 1e-9. Constants from memory. */
const shelfHz = 1681.974450955533;
const shelfGainDb = 3.999843853973347;
const shelfQ = 0.7071752369554196;
const shelfMiddlePower = 0.4996667741545416;
const highPassHz = 38.13547087602444;
const highPassQ = 0.5003270373238773;

/**
 * K-weighting coefficients at `rateHz` (8–384 kHz).
 *
 * At 48 kHz the published table; elsewhere the bilinear transform of the prototypes, K = tan(π f0 / rate). The numerator of the
 * high-pass is exactly (1, −2, 1), as tabulated, so its gain in the pass band differs from 0 dB by less than 0.05 dB at any rate.
 */
export function kWeighting(rateHz: number): KWeighting {
  if (rateHz === 48_000) return tabulated48k;
  const k = prewarped(shelfHz, rateHz);
  const top = decibelsToRatio(shelfGainDb);
  const middle = power(top, shelfMiddlePower);
  const scale = 1 + k / shelfQ + k * k;
  return {
    shelf: {
      b0: (top + (middle * k) / shelfQ + k * k) / scale,
      b1: (2 * (k * k - top)) / scale,
      b2: (top - (middle * k) / shelfQ + k * k) / scale,
      ...poles(k, shelfQ),
    },
    highPass: { b0: 1, b1: -2, b2: 1, ...poles(prewarped(highPassHz, rateHz), highPassQ) },
  };
}

function prewarped(hz: number, rateHz: number): number {
  const halfAngle = (Math.PI * hz) / rateHz;
  return sin(halfAngle) / cos(halfAngle);
}

function poles(k: number, q: number): { a1: number; a2: number } {
  const scale = 1 + k / q + k * k;
  return { a1: (2 * (k * k - 1)) / scale, a2: (1 - k / q + k * k) / scale };
}

/** K-weights one channel, sample after sample. */
export class KFilter {
  private readonly c: KWeighting;
  private s1 = 0;
  private s2 = 0;
  private h1 = 0;
  private h2 = 0;

  constructor(rateHz: number) {
    this.c = kWeighting(rateHz);
  }

  /**
   * Adds the squares of the weighted `input[start … start + frames − 1]` to `sum`, one by one, so that the result is the same
   * however a signal is cut into pieces. Allocates nothing.
   */
  addSquares(input: Float64Array, start: number, frames: number, sum: number): number {
    const { shelf, highPass } = this.c;
    let { s1, s2, h1, h2 } = this;
    let total = sum;
    for (let i = start; i < start + frames; i += 1) {
      const x = input[i]!;
      const u = shelf.b0 * x + s1;
      s1 = masked(shelf.b1 * x - shelf.a1 * u + s2);
      s2 = masked(shelf.b2 * x - shelf.a2 * u);
      const y = highPass.b0 * u + h1;
      h1 = masked(highPass.b1 * u - highPass.a1 * y + h2);
      h2 = masked(highPass.b2 * u - highPass.a2 * y);
      total += y * y;
    }
    this.s1 = s1;
    this.s2 = s2;
    this.h1 = h1;
    this.h2 = h2;
    return total;
  }
}

/** Below 1e-30 a state has no bearing on any loudness, and would only crawl through subnormal numbers. */
function masked(state: number): number {
  return Math.abs(state) < 1e-30 ? 0 : state;
}
