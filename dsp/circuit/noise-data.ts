/**
 * What the noise of a device is taken to be beyond what its law says: one table, read by `noise-sources.ts`. A corner is the frequency at which 1/f noise is as strong as the white
 * noise of the same current; above it white noise rules. Corners differ between makers, types and single devices by more than ten times: these are working values
 * (common practice, no source), and a report says so.
 */

/** Boltzmann's constant in J/K and the elementary charge in C: exact (SI Brochure, 9th edition, 2019). */
export const boltzmannJoulesPerKelvin = 1.380649e-23;
export const elementaryCoulombs = 1.602176634e-19;

/** Standard temperature of noise figures, K (H. T. Friis, "Noise figures of radio receivers", 1944; the IRE standards on it, from memory). */
export const standardKelvin = 290;

/** 1/f corners in Hz (common practice, no source). */
export const flickerCornerHz = {
  diode: 100,
  /** Of the base current: the collector's is small beside it. */
  bipolarBase: 300,
  /** A gate that is a junction, low-noise type. */
  junctionGate: 50,
  /** A gate behind an oxide. */
  insulatedGate: 10_000,
  triode: 1_000,
  /** Of an input pair whose transistors are not modelled one by one. */
  tanhPair: 100,
} as const;

/**
 * Share of the thermal noise of its transconductance that a saturated channel makes (A. van der Ziel, "Thermal noise in field-effect transistors", 1962: 2/3 for a long channel).
 */
export const saturatedChannelShare = 2 / 3;

/**
 * Space-charge-limited triode: its anode noise is that of a resistance of 2.5/gm before an ideal valve, the resistance at 290 K (B. J. Thompson, D. O. North, W. A. Harris, "Fluctuations in
 * space-charge-limited currents at moderately high frequencies", 1940; F. E. Terman, "Radio Engineers' Handbook", 1943; both from memory).
 */
export const triodeEquivalentOhmsTimesTransconductance = 2.5;

/** For whoever shows these figures. */
export const flickerCornerSource = 'common practice, no source: devices of one type differ by more than ten times';
