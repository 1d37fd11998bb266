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

/** What is added to what a stage puts out. */
export interface PlannedNoise {
  /** Of the setting, and the stage's place in the path: with the channel they choose the stream of numbers. */
  readonly seed: number;
  readonly place: number;
  /** Null: no noise. */
  readonly shape: NoiseShape | null;
  /** Volts at the internal rate, read round and round from frame 0 on; null: none. */
  readonly ripple: Float64Array | null;
}
