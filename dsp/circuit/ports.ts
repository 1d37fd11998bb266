/**
 * Which control voltages are one and the same. Where ideal sources tie nodes together (collectors on supplies, two bases on one drive), a control is
 * plus or minus another and a constant, whatever the signal: its rows of `v = q0 + qu u + D z + K i` but for q0 are those of the other. Such controls
 * share one *port* x, `v = sign · x + offset`, and Newton's system has the size of the ports, not of the controls.
 */
import type { ReducedCircuit, ReducedEquations } from './reduce.ts';

/** Rows are the same when they differ by no more than this part of the largest among the nodes' rows. */
const sameShare = 1e-12;

/** A port is named by its first control, whose voltage it is: there the sign is 1 and the offset 0. */
export interface PortMap {
  readonly portCount: number;
  /** Port of each control; ports are numbered in the order of their first controls. */
  readonly controlPorts: Int32Array;
  /** +1 or −1 per control. */
  readonly controlSigns: Float64Array;
  /** The port of all controls that never move (both ends on ideal sources): its rows are 0. −1: none. */
  readonly constantPort: number;
}

/** Every control a port of its own. */
export function separatePorts(samples: readonly ReducedEquations[]): PortMap {
  const m = samples[0]!.portCount;
  return { portCount: m, controlPorts: Int32Array.from({ length: m }, (_, k) => k), controlSigns: new Float64Array(m).fill(1), constantPort: -1 };
}

/** Controls that share a port in every one of `samples`: pseudo-random values show what follows from the wiring alone. */
export function findPorts(samples: readonly ReducedCircuit[]): PortMap {
  const m = samples[0]!.portCount;
  const controlPorts = new Int32Array(m);
  const controlSigns = new Float64Array(m);
  const firsts: number[] = [];
  let constantPort = -1;
  const join = (k: number): readonly [port: number, sign: number] | null => {
    if (samples.every((sample) => isSame(sample, k, k, 0))) {
      if (constantPort < 0) {
        constantPort = firsts.length;
        return null;
      }
      return [constantPort, 1];
    }
    for (const [port, first] of firsts.entries()) {
      if (port === constantPort) continue;
      for (const sign of [1, -1]) if (samples.every((sample) => isSame(sample, k, first, sign))) return [port, sign];
    }
    return null;
  };
  for (let k = 0; k < m; k += 1) {
    const [port, sign] = join(k) ?? [firsts.push(k) - 1, 1];
    controlPorts[k] = port;
    controlSigns[k] = sign;
  }
  return { portCount: firsts.length, controlPorts, controlSigns, constantPort };
}

/** Whether row `k` is `sign` times row `first` (`sign` 0: whether it vanishes), but for its constant. */
function isSame(reduced: ReducedCircuit, k: number, first: number, sign: number): boolean {
  const { stateCount: n, currentCount: r, portInput, portMemory, portCurrent, memoryScale, currentScale } = reduced;
  const memoryLimit = sameShare * memoryScale;
  const currentLimit = sameShare * currentScale;
  if (!(Math.abs(portInput[k]! - sign * portInput[first]!) <= memoryLimit)) return false;
  for (let c = 0; c < n; c += 1) if (!(Math.abs(portMemory[k * n + c]! - sign * portMemory[first * n + c]!) <= memoryLimit)) return false;
  for (let c = 0; c < r; c += 1) if (!(Math.abs(portCurrent[k * r + c]! - sign * portCurrent[first * r + c]!) <= currentLimit)) return false;
  return true;
}

export function firstControls({ portCount, controlPorts }: Pick<PortMap, 'portCount' | 'controlPorts'>): Int32Array {
  return Int32Array.from({ length: portCount }, (_, port) => controlPorts.indexOf(port));
}

export interface MergedEquations {
  /** The same circuit with one row per port. */
  readonly equations: ReducedCircuit;
  /** Volts per control. */
  readonly controlOffsets: Float64Array;
}

/** Keeps the first row of each port. Throws where these values contradict what the wiring said. */
export function mergeControls(reduced: ReducedCircuit, map: PortMap): MergedEquations {
  const { stateCount: n, currentCount: r } = reduced;
  const { portCount, controlPorts, controlSigns, constantPort } = map;
  const firsts = firstControls(map);
  const controlOffsets = Float64Array.from(controlPorts, (port, k) => {
    const first = firsts[port]!;
    if ((port === constantPort || k !== first) && !isSame(reduced, k, first, port === constantPort ? 0 : controlSigns[k]!)) {
      throw new Error(`control ${k}: expected ${port === constantPort ? 'a constant' : `the voltage of control ${first}`} by the wiring, got rows that differ`);
    }
    return k === first ? 0 : reduced.portConstant[k]! - controlSigns[k]! * reduced.portConstant[first]!;
  });
  const rows = (full: Float64Array, width: number): Float64Array => {
    const kept = new Float64Array(portCount * width);
    firsts.forEach((first, port) => { if (port !== constantPort) kept.set(full.subarray(first * width, (first + 1) * width), port * width); });
    return kept;
  };
  return {
    equations: {
      ...reduced,
      portCount,
      portConstant: Float64Array.from(firsts, (first) => reduced.portConstant[first]!),
      portInput: rows(reduced.portInput, 1), portMemory: rows(reduced.portMemory, n), portCurrent: rows(reduced.portCurrent, r),
    },
    controlOffsets,
  };
}

/** ∂i/∂x, currents × ports, of a dense `jacobian` ∂i/∂v, currents × controls. */
export function portJacobian({ portCount, controlPorts, controlSigns }: PortMap, jacobian: Float64Array): Float64Array {
  const m = controlPorts.length;
  const merged = new Float64Array(m === 0 ? 0 : (jacobian.length / m) * portCount);
  jacobian.forEach((slope, at) => {
    const k = at % m;
    const to = ((at - k) / m) * portCount + controlPorts[k]!;
    merged[to] = merged[to]! + controlSigns[k]! * slope;
  });
  return merged;
}
