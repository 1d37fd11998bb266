/** Published designs of sampled equaliser sections, for comparison: what the bench's own are measured against. */

/** b0 b1 b2 a1 a2, a0 = 1. */
export type DirectForm = readonly [number, number, number, number, number];

export interface CookbookInputs {
  readonly type: 'bell' | 'low' | 'high';
  readonly hertz: number;
  readonly rateHz: number;
  readonly db: number;
  readonly quality?: number;
  readonly steepness?: number;
}

/** R. Bristow-Johnson, "Audio EQ Cookbook", W3C Working Group Note 2021. */
export function cookbook({ type, hertz, rateHz, db, quality, steepness }: CookbookInputs): DirectForm {
  const A = 10 ** (db / 40);
  const w = (2 * Math.PI * hertz) / rateHz;
  const [c, s] = [Math.cos(w), Math.sin(w)];
  const alpha = (s / 2) * (quality === undefined ? Math.sqrt((A + 1 / A) * (1 / steepness! - 1) + 2) : 1 / quality);
  const r = 2 * Math.sqrt(A) * alpha;
  const over = ([b0, b1, b2]: number[], [a0, a1, a2]: number[]): DirectForm => [b0! / a0!, b1! / a0!, b2! / a0!, a1! / a0!, a2! / a0!];
  switch (type) {
    case 'bell': return over([1 + alpha * A, -2 * c, 1 - alpha * A], [1 + alpha / A, -2 * c, 1 - alpha / A]);
    case 'low': return over(
      [A * (A + 1 - (A - 1) * c + r), 2 * A * (A - 1 - (A + 1) * c), A * (A + 1 - (A - 1) * c - r)], [A + 1 + (A - 1) * c + r, -2 * (A - 1 + (A + 1) * c), A + 1 + (A - 1) * c - r]);
    case 'high': return over(
      [A * (A + 1 + (A - 1) * c + r), -2 * A * (A - 1 + (A + 1) * c), A * (A + 1 + (A - 1) * c - r)], [A + 1 - (A - 1) * c + r, 2 * (A - 1 - (A + 1) * c), A + 1 - (A - 1) * c - r]);
  }
}

export interface PrescribedInputs {
  readonly hertz: number;
  readonly rateHz: number;
  readonly db: number;
  /** Between the points with half the decibels. */
  readonly bandwidthHz: number;
}

/**
 * A bell with the analogue gain at half the rate: S. J. Orfanidis, "Digital parametric equalizer design with prescribed Nyquist-frequency gain", J. Audio Eng. Soc. 45, 1997,
 * formula from memory; the test shows that it meets its four conditions.
 */
export function prescribedBell({ hertz, rateHz, db, bandwidthHz }: PrescribedInputs): { readonly section: DirectForm; readonly nyquistGain: number } {
  const [G0, G, GB] = [1, 10 ** (db / 20), 10 ** (db / 40)];
  const w0 = (2 * Math.PI * hertz) / rateHz;
  const width = (2 * Math.PI * bandwidthHz) / rateHz;
  const square = (w0 ** 2 - Math.PI ** 2) ** 2;
  const [F, G00, F00] = [Math.abs(G * G - GB * GB), Math.abs(G * G - G0 * G0), Math.abs(GB * GB - G0 * G0)];
  const bent = (F00 * Math.PI ** 2 * width ** 2) / F;
  const G1 = Math.sqrt((G0 ** 2 * square + G ** 2 * bent) / (square + bent));
  const [G01, G11, F01, F11] = [Math.abs(G * G - G0 * G1), Math.abs(G * G - G1 * G1), Math.abs(GB * GB - G0 * G1), Math.abs(GB * GB - G1 * G1)];
  const W2 = Math.sqrt(G11 / G00) * Math.tan(w0 / 2) ** 2;
  const DW = (1 + Math.sqrt(F00 / F11) * W2) * Math.tan(width / 2);
  const C = F11 * DW ** 2 - 2 * W2 * (F01 - Math.sqrt(F00 * F11));
  const D = 2 * W2 * (G01 - Math.sqrt(G00 * G11));
  const A = Math.sqrt((C + D) / F);
  const B = Math.sqrt((G * G * C + GB * GB * D) / F);
  const a0 = 1 + W2 + A;
  return { section: [(G1 + G0 * W2 + B) / a0, (-2 * (G1 - G0 * W2)) / a0, (G1 - B + G0 * W2) / a0, (-2 * (1 - W2)) / a0, (1 + W2 - A) / a0], nyquistGain: G1 };
}

/** Gain of a direct form at a frequency, dB. */
export function directFormDb([b0, b1, b2, a1, a2]: DirectForm, hz: number, rateHz: number): number {
  const w = (2 * Math.PI * hz) / rateHz;
  const size = (c0: number, c1: number, c2: number): number => Math.hypot(c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w), c1 * Math.sin(w) + c2 * Math.sin(2 * w));
  return 20 * Math.log10(size(b0, b1, b2) / size(1, a1, a2));
}
