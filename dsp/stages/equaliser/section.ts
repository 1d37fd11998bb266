/**
 * One second-order section as it runs: a state-variable filter with trapezoidal integrators, so that its two memories are those of an analogue filter and its numbers keep
 * their digits at 20 Hz and 768 kHz, where a direct form's would be differences of nearly equal ones.
 *
 * With S = s/g (s = tan(ω/2) j on the frequency axis of the bilinear transform) and the pole pair g, k:
 *   H = direct + (band S + low) / (S² + k S + 1).
 * Source: the two-integrator loop (W. J. Kerwin, L. P. Huelsman, R. W. Newcomb, "State-variable synthesis for insensitive integrated circuit transfer functions", IEEE J. Solid-State
 * Circuits SC-2, 1967), solved for its delay-free path; both from memory.
 */

/** Where each number of a section stands, counted from the section's own start. `share` is 1/(1 + g (g + k)), since a division would hold up every sample. */
export const at = { g: 0, share: 1, direct: 2, band: 3, low: 4 } as const;
export const sectionSize = 5;

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
  coefficients[offset + at.g] = g;
  coefficients[offset + at.share] = 1 / (1 + (d0 + d1));
  coefficients[offset + at.direct] = n2;
  coefficients[offset + at.band] = (n1 - n2 * d1) / g;
  coefficients[offset + at.low] = (n0 - n2 * d0) / d0;
}
