/**
 * The circuit as numbers, before any choice of step or method: what `assemble` makes of a document and what the operating
 * point, the reduction and the exact response all read. Everything but its two stamping methods is plain data (typed arrays, strings);
 * what is posted to another thread is the program made from it, never the system.
 */

/** Code of a device law in `DeviceTable.kinds`. */
export const deviceKind = { diode: 0, bipolar: 1, fieldEffect: 2, triode: 3, tanhTransconductor: 4, productTransconductor: 5, core: 6, forwardBipolar: 7, forwardFieldEffect: 8 } as const;

/**
 * All nonlinear devices of a circuit, flat. Device d owns controls `controlOffsets[d] … controlOffsets[d + 1] − 1`, currents likewise, and a
 * row-major block (currents × controls) of the packed Jacobian from `jacobianOffsets[d]`.
 */
export interface DeviceTable {
  readonly count: number;
  readonly controlCount: number;
  readonly currentCount: number;
  /** Component name of each device, for reports. */
  readonly names: readonly string[];
  /** What each control is, for reports: "base–emitter", "gate–source", … */
  readonly controlNames: readonly string[];
  readonly kinds: Uint8Array;
  readonly parameters: Float64Array;
  readonly parameterOffsets: Int32Array;
  readonly controlOffsets: Int32Array;
  readonly currentOffsets: Int32Array;
  readonly jacobianOffsets: Int32Array;
  /** The devices that are cores, in their order: each has a memory of its own (core-law.ts). */
  readonly cores: Int32Array;
  /** Scale of each control in volts (of a core's flux, volt-seconds): n·VT of a junction, `scaleVolts` of a tanh pair, a tenth of where a core bends or saturates, 0.1 V for field-effect, triode and product. */
  readonly scaleVolts: Float64Array;
  /** For the step limiter: n·VT of each control that is a junction, else 0. */
  readonly junctionWidthVolts: Float64Array;
  /** For the step limiter: n·VT ln(n·VT/(√2 IS)) of each control that is a junction, else 0. */
  readonly junctionCriticalVolts: Float64Array;
  /** For the step limiter: longest step of each control in volts, at 0 V, and what is added to it for each volt away from there; Infinity and 0 for a pure junction. */
  readonly longestStepVolts: Float64Array;
  readonly stepGrowth: Float64Array;
}

/** One thing the circuit remembers: a capacitor's voltage, an inductor's current, or a core's flux (besides its reversals). */
export interface StateElement {
  /** Component name; of coupled inductors "NAME primary" and "NAME secondary", of fully coupled ones "NAME magnetising",
   * of a transistor's junction capacitances "NAME base–emitter" and "NAME base–collector". Carry-over goes by it. */
  readonly name: string;
  readonly kind: 'capacitor' | 'inductor' | 'flux';
  /** 1 V, 1 mA, the flux of 1 mA: the unit in which an error of this state is judged. */
  readonly unit: number;
}

/** How memory elements are replaced by their equation over one step. */
export type Discretisation =
  | { readonly kind: 'direct-current' }
  | {
      readonly kind: 'step';
      readonly stepSeconds: number;
      /** One per state; 1 = backward Euler, 0 = trapezoidal. */
      readonly backwardEuler: Uint8Array;
    };

/** The matrices of `S w = s0 + su·u + Sz z + Si i`, dense and row-major; w = node voltages, then branch currents. */
export interface StampedEquations {
  readonly matrix: Float64Array;
  readonly constant: Float64Array;
  readonly input: Float64Array;
  /** size × states. */
  readonly memory: Float64Array;
  /** size × currents. */
  readonly current: Float64Array;
}

/** A circuit ready to be stamped. Indices of nodes are rows; −1 is ground. */
export interface CircuitSystem {
  readonly title: string;
  readonly temperatureC: number;
  readonly thermalVolts: number;
  /** Nodes + branches. */
  readonly size: number;
  readonly nodeNames: readonly string[];
  /** Component owning each branch row, in row order after the nodes. */
  readonly branchNames: readonly string[];
  readonly states: readonly StateElement[];
  readonly devices: DeviceTable;
  /** Pairs [plus, minus] of rows per control: the device's own control is `controlSigns[k] · (w[plus] − w[minus])`. */
  readonly controlRows: Int32Array;
  /** +1 or −1 per control: −1 for p-type devices. */
  readonly controlSigns: Float64Array;
  /** Pairs [from, to] of rows per current: `currentSigns[r] · i[r]` flows from the first to the second. `StampedEquations.current` has the signs in it. */
  readonly currentRows: Int32Array;
  readonly currentSigns: Float64Array;
  /** State of each core, in the order of `devices.cores`. */
  readonly coreStates: Int32Array;
  /** Rows [plus, minus] of the output. */
  readonly outputRows: readonly [number, number];
  /** Branch row of the signal input: its right-hand side is u + bias, its unknown the current from the plus node through the source to the minus node. −1: no input. */
  readonly inputBranch: number;
  /** Pairs per state, how its stored quantity q is read from w: capacitor [plus, minus] rows, q = w[plus] − w[minus]; inductor and core [branch, −1], q = w[branch] (of a core the branch's unknown is its flux). */
  readonly stateRows: Int32Array;
  /** Of a circuit whose rest is known: the devices' own control voltages there; null: to be found. */
  readonly knownControls: Float64Array | null;
  stamp(discretisation: Discretisation): StampedEquations;
  /** E of the analogue circuit `(S_dc + s E) w = …`, size × size: what small-signal response adds to the direct-current stamp. */
  stampStorage(): Float64Array;
}
