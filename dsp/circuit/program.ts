/**
 * The program of a circuit: all that a solver needs, as plain data that can be posted to another thread.
 *
 * Unknowns are the *ports* x, the independent ones among the control voltages: control k is `v_k = sign_k · x[port_k] + offset_k`, always derived, never
 * accumulated. One sample of one instance, in the order every back end keeps; the *signal vector* is [u | z (n) | c (r)]: input volts, states, device
 * currents. A row's sum is its constant, then its entries by ascending column, strictly left to right, no fused multiply-add.
 *   p = port rows over the signal (u and z only) · residual: (p − x), then + K i by ascending current ·
 *   Newton matrix, row a, column b: δ, then − K[a, i] · (sign_k J[i, k]) for the controls k of port b ascending, for each the currents i of its device
 *   ascending; rows stand in elimination order, columns in the order of ports; eliminated in pairs (ordered-elimination.ts) ·
 *   error = largest |g| over the smallest scale of the port's controls ·
 *   step of a port: that of the control whose limited step is smallest, the lower one where equal; the port's own g if none is smaller ·
 *   first step of a sample: port by port, plus the miss expected from the last three samples (solver.ts) where the step was not limited and 4 times the miss is no
 *   more than it ·
 *   c = i + Σ J[i, k] · (sign_k g[port_k]) by ascending control · new z, then the output, = update rows over the signal.
 */
import type { DeviceTable } from './system.ts';

/** Which entries of a block of rows exist: those of row k are `starts[k] … starts[k + 1] − 1`, each in column `columns[entry]`. */
export interface SparseRows {
  readonly starts: Int32Array;
  readonly columns: Int32Array;
}

/**
 * The nodal form of the solve (nodal-form.ts): kept unknowns w in the order of elimination, rows likewise. One solve: r = b + Q e, row by row: b, then e of its currents ascending;
 * forward and back substitution with products by ascending column; g of a port = sign (w_plus − w_minus), + what held nodes give, − x; e = i − Σ J (v − what held nodes give) by ascending control. Factors row by row: linear part, then stamps in their order, then
 * what the rows above take, by ascending row.
 */
export interface NodalTopology {
  readonly size: number;
  /** b over [u | z]. */
  readonly sourceRows: SparseRows;
  /** Device currents that enter each row, and their signs. */
  readonly feedRows: SparseRows;
  readonly feedSigns: Float64Array;
  /** Entries of the factors, fill and diagonal among them; an entry's number is its *place*. */
  readonly matrixRows: SparseRows;
  /** Places with a linear part, ascending. */
  readonly linearPlaces: Int32Array;
  /** What devices add: sign · J[entry] at a place, by ascending place. */
  readonly stampPlaces: Int32Array;
  readonly stampEntries: Int32Array;
  readonly stampSigns: Float64Array;
  /** Per port, of its first control: kept unknowns (−1: ground) and sign. */
  readonly portPlus: Int32Array;
  readonly portMinus: Int32Array;
  readonly portSigns: Float64Array;
  /** 1 per port, per control, where an ideal source holds one of its nodes (which then is no unknown): constant volts belong to it. */
  readonly portHeld: Uint8Array;
  readonly controlHeld: Uint8Array;
  /** New states, then the output, over [u | z | w]. */
  readonly updateRows: SparseRows;
}

export interface NodalInstance {
  readonly sourceConstants: Float64Array;
  readonly sourceCoefficients: Float64Array;
  readonly linearCoefficients: Float64Array;
  /** What held nodes give to each port and to each control, volts. */
  readonly portHeldVolts: Float64Array;
  readonly controlHeldVolts: Float64Array;
  readonly updateConstants: Float64Array;
  readonly updateCoefficients: Float64Array;
}

/** What depends on how the circuit is wired, never on its values: a compiled kernel belongs to one of these. */
export interface ProgramTopology {
  /** Equal for two programs exactly when one kernel can run both. */
  readonly key: string;
  readonly stateCount: number;
  readonly controlCount: number;
  readonly portCount: number;
  readonly currentCount: number;
  /** Port of each control. Ports are numbered in the order of their first controls, and are those controls' voltages. */
  readonly controlPorts: Int32Array;
  /** +1 or −1 per control. */
  readonly controlSigns: Float64Array;
  /** One row per port over the signal vector (columns of u and z alone). */
  readonly portRows: SparseRows;
  /** K: one row per port, columns are currents. */
  readonly feedbackRows: SparseRows;
  /** One row per state, then one for the output, over the signal vector. */
  readonly updateRows: SparseRows;
  /** Row `eliminationOrder[k]` of I − K J is eliminated k-th. */
  readonly eliminationOrder: Int32Array;
  /** Whether a linear part G0 has been moved from the devices into the matrices (`ProgramInstance.shift`). */
  readonly shifted: boolean;
  /** How the running solve goes where that is cheaper than over the ports; null: over the ports. The rescue goes over the ports in any case. */
  readonly nodal: NodalTopology | null;
}

/** The numbers of one run of the program at one step. */
export interface ProgramInstance {
  /** Steps per sample. */
  readonly subSteps: 1 | 2 | 4;
  readonly stepSeconds: number;
  /** Volts per control: v = sign · x + offset. */
  readonly controlOffsets: Float64Array;
  /** In the order of the topology's rows. */
  readonly portConstants: Float64Array;
  readonly portCoefficients: Float64Array;
  readonly feedbackCoefficients: Float64Array;
  readonly updateConstants: Float64Array;
  readonly updateCoefficients: Float64Array;
  /** Exactly where the topology has a nodal form. */
  readonly nodal: NodalInstance | null;
}

/** A capacitor that steps by backward Euler, and why. */
export interface BackwardEulerChoice {
  readonly name: string;
  /** Decay ratio per sample it would have had under the trapezoidal rule; near −1 it rings. */
  readonly ratio: number;
  /** Largest change of the small-signal response at 20 and 50 kHz, all choices up to this one together. */
  readonly errorDb: number;
}

export interface ProgramOperatingPoint {
  readonly nodeVolts: Readonly<Record<string, number>>;
  /** Device currents in the order of `DeviceTable`, amperes, of the device's own polarity. */
  readonly currents: Float64Array;
  /** Control voltages of the devices, volts, of the device's own polarity. */
  readonly controlVolts: Float64Array;
  /** What each state stores at rest: volts of a capacitor, amperes of an inductor, volt-seconds of a core. */
  readonly stored: Float64Array;
}

/**
 * How a program is integrated: T1, the trapezoidal rule at the program's own step h; T12 and T24, two runs at h and h/2 or h/2 and h/4 whose outputs are combined as
 * (4 fine − coarse)/3 (Richardson's extrapolation: the error in h² cancels). States are never combined. S1, S2 and S4 are one run at h, h/2 or h/4 and nothing else: circuits with cores, whose
 * reversals do not expand in h².
 */
export type IntegrationRule = 'T1' | 'T12' | 'T24' | 'S1' | 'S2' | 'S4';

/** Steps a sample of each instance of a rule, coarse first. */
export const subStepsOfRule: Readonly<Record<IntegrationRule, readonly (1 | 2 | 4)[]>> = { T1: [1], T12: [1, 2], T24: [2, 4], S1: [1], S2: [2], S4: [4] };

/** Rules that a circuit may have, cheapest first: with cores plain steps alone, else pairs of runs. */
export function rulesOf({ coreStates }: Pick<CircuitProgram, 'coreStates'>): readonly [IntegrationRule, IntegrationRule, IntegrationRule] {
  return coreStates.length > 0 ? ['S1', 'S2', 'S4'] : ['T1', 'T12', 'T24'];
}

/** The rule for such a circuit that goes as far as `rule` does for the other kind. */
export function ruleFor(program: Pick<CircuitProgram, 'coreStates'>, rule: IntegrationRule): IntegrationRule {
  const finest = subStepsOfRule[rule].at(-1)!;
  return rulesOf(program)[finest === 4 ? 2 : finest - 1]!;
}

/** How exactly a rule must follow the circuit: what plays, or what is measured. */
export type Grade = 'listening' | 'measuring';

/** Why a program has its rule. */
export interface RuleChoice {
  readonly grade: Grade;
  /** Estimated error of H1–H5 at 10 kHz, dB, at the worst of the levels judged, and what the grade asks for. */
  readonly errorDb: number;
  readonly limitDb: number;
}

export interface CircuitProgram {
  readonly title: string;
  readonly rateHz: number;
  readonly rule: IntegrationRule;
  /** Null: the rule was asked for by name. */
  readonly ruleChoice: RuleChoice | null;
  readonly topology: ProgramTopology;
  /** The topology's key, for caches of compiled kernels. */
  readonly topologyKey: string;
  /** In the order of `subStepsOfRule`. All share topology, devices and backward Euler flags. */
  readonly instances: readonly ProgramInstance[];
  readonly devices: DeviceTable;
  /** Packed Jacobian G0 (S) to be subtracted from the devices; null unless `topology.shifted`. */
  readonly shift: Float64Array | null;
  readonly stateNames: readonly string[];
  /** 1 V of a capacitor, 1 mA of an inductor, the flux of 1 mA of a core. */
  readonly stateUnits: Float64Array;
  /** State of each core, in the order of `devices.cores`. */
  readonly coreStates: Int32Array;
  /** One flag per state: 1 = backward Euler. */
  readonly stateBackwardEuler: Uint8Array;
  /** "Q1 base–emitter": component, then control. */
  readonly controlNames: readonly string[];
  readonly restOutputVolts: number;
  readonly operatingPoint: ProgramOperatingPoint;
  readonly backwardEuler: readonly BackwardEulerChoice[];
}
