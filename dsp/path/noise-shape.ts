/** What shapes white noise into a stage's, as plain data. Audio thread: read alone. */
export interface NoiseShape {
  /** Standard deviation of the white noise in volts. */
  readonly gain: number;
  readonly sectionCount: number;
  /** b0, b1, b2, a1, a2 of each second-order section. */
  readonly sections: Float64Array;
  /** Largest difference from the density it stands for, 20 Hz – 20 kHz, dB. */
  readonly errorDb: number;
}
