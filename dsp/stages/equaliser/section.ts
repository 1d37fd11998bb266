/**
 * One second-order section as it runs: a state-variable filter with trapezoidal integrators, so that its two memories are those of an analogue filter and its numbers keep
 * their digits at 20 Hz and 768 kHz, where a direct form's would be differences of nearly equal ones.
 *
 * With S = s/g (s = tan(ω/2) j on the frequency axis of the bilinear transform) and the pole pair g, k:
 *   H = direct + (band S + low) / (S² + k S + 1).
 * Source: the two-integrator loop (W. J. Kerwin, L. P. Huelsman, R. W. Newcomb, "State-variable synthesis for insensitive integrated circuit transfer functions", IEEE J. Solid-State
 * Circuits SC-2, 1967), solved for its delay-free path; both from memory.
 */

/**
 * Where each number of a section stands, counted from its own start. With a sample x, memories s1 and s2, d = x − s2, and h = 1/(1 + g (g + k)):
 *   y = direct x + (low s2 + (band1 s1 + band2 d)),  s1′ = keep s1 + turn d,  s2′ = s2 + (turn s1 + rise d),
 *   keep = 2h − 1, turn = 2 g h, rise = 2 g² h, band1 = (band + low g) h, band2 = g band1.
 * Each memory waits for one difference, one product and one sum: written by way of its two integrators the filter would wait twice as long.
 */
export const at = { keep: 0, turn: 1, rise: 2, direct: 3, low: 4, band1: 5, band2: 6 } as const;
export const sectionSize = 7;

/** Memories of a section. */
export const memoriesOfSection = 2;

/** (n2 s² + n1 s + n0) / (s² + d1 s + d0) in the bilinear transform's s, both roots of the denominator to the left. */
export interface AnalogueSection {
  readonly numerator: readonly [n0: number, n1: number, n2: number];
  readonly denominator: readonly [d0: number, d1: number];
}

/** The section's numbers, written to `coefficients` from `offset` on. */
export function writeSection(section: AnalogueSection, coefficients: Float64Array, offset: number): void {
  const [n0, n1, n2] = section.numerator;
  const [d0, d1] = section.denominator;
  const g = Math.sqrt(d0);
  const share = 1 / (1 + (d0 + d1));
  const low = (n0 - n2 * d0) / d0;
  const band = ((n1 - n2 * d1) / g + low * g) * share;
  // keep is 1 − 2 (1 − h), and 1 − h without cancellation (d0 + d1) h.
  coefficients.set([1 - 2 * ((d0 + d1) * share), 2 * g * share, 2 * d0 * share, n2, low, band, g * band], offset);
}

/** What `writeSection` was given, as H = direct + (band S + low) / (S² + k S + 1) with S = s/g. */
export interface SectionShape {
  readonly g: number;
  readonly k: number;
  readonly direct: number;
  readonly band: number;
  readonly low: number;
}

export function readSection(coefficients: Float64Array, offset: number): SectionShape {
  const [keep, turn, rise, direct, low, band1] = coefficients.subarray(offset, offset + sectionSize) as unknown as [number, number, number, number, number, number];
  const g = rise / turn;
  const share = turn / (2 * g);
  // 1 − keep = 2 g (g + k) h.
  const k = (1 - keep) / turn - g;
  return { g, k, direct, band: band1 / share - low * g, low };
}
