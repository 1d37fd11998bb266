/** What can be taken away of a circuit, as plain data: a mechanism of distortion, so that all else stays as it is. Types alone; `remove.ts` does it. */

/**
 * Part of a device's law. Bipolar: the exponential of its base–emitter junction (cut-off with it), its saturation (the base–collector junction), the Early effect (the product of current and
 * collector voltage). Field-effect: the square law (cut-off with it), the ohmic region, the gate's junctions, channel-length modulation (the product with λ vDS). Triode: the law of the anode, the grid current.
 */
export type DevicePart = 'exponential' | 'saturation' | 'early' | 'square-law' | 'ohmic' | 'gate' | 'modulation' | 'anode' | 'grid';

/** A device by its component's name, or one part of its law. */
export interface RemovedDevice {
  readonly name: string;
  /** Absent: all of it. */
  readonly part?: DevicePart;
}

export type CircuitRemoval =
  /** Each of these laws becomes its tangent at the operating point: which stays, and with it every small signal. A core becomes its inductance there. */
  | { readonly kind: 'tangent'; readonly devices: readonly RemovedDevice[] }
  /** Each of these capacitors keeps its voltage at rest: it takes up no mean charge while the signal bends, and its corner at low frequencies is gone. */
  | { readonly kind: 'hold'; readonly capacitors: readonly string[] };
