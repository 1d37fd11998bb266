/** Resistances of a stage at small signals, coupling and bypass capacitors taken as shorts. */

/** Slopes of a three-electrode device at its operating point, S: a valve or field-effect device has no input conductance. */
export interface DeviceSlopes {
  readonly transconductance: number;
  /** Output electrode to common electrode. */
  readonly output: number;
  /** Control electrode to common electrode. */
  readonly input: number;
}

export interface DeviceSurroundings {
  /** Unbypassed resistance in the common electrode. */
  readonly commonOhms: number;
  /** What drives the control electrode. */
  readonly sourceOhms: number;
  /** From the output electrode to the supply. */
  readonly electrodeOhms: number;
}

export const parallel = (...ohms: readonly number[]): number => 1 / ohms.reduce((sum, r) => sum + 1 / r, 0);

/**
 * Resistance seen at the output electrode, its supply resistor included, the load not. Nodal equations of the degenerated stage solved by hand
 * (compare Gray, Hurst, Lewis, Meyer, "Analysis and Design of Analog Integrated Circuits", chapter 3, from memory).
 */
export function electrodeOutputOhms(device: DeviceSlopes, around: DeviceSurroundings): number {
  // The control electrode follows the common one in part; of a movement of the common electrode this share acts on the device.
  const apart = 1 / (1 + device.input * around.sourceOhms);
  const common = device.output / (1 / around.commonOhms + (device.input + device.transconductance) * apart + device.output);
  const siemens = device.output * (1 - common) - device.transconductance * apart * common;
  return parallel(around.electrodeOhms, 1 / siemens);
}
