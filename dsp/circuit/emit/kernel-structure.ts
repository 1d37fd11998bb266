/**
 * What a kernel is written from: the topology and the devices' shape, never their values. Two programs with the same topology key have the same
 * structure, since the key names the kinds and current counts of the devices, and controls, parameters and Jacobian blocks follow from these.
 */
import type { CircuitProgram, ProgramTopology } from '../program.ts';
import { deviceKind } from '../system.ts';
import type { DeviceTable } from '../system.ts';

export interface DeviceShape {
  readonly kind: number;
  readonly firstControl: number;
  readonly controls: number;
  readonly firstCurrent: number;
  readonly currents: number;
  readonly firstParameter: number;
  /** Of its packed block, currents × controls. */
  readonly firstJacobian: number;
  /** Its number among the cores; −1: it is none. */
  readonly core: number;
}

export interface KernelStructure {
  readonly key: string;
  readonly states: number;
  readonly controls: number;
  readonly ports: number;
  readonly currents: number;
  readonly topology: ProgramTopology;
  readonly devices: readonly DeviceShape[];
  readonly parameterCount: number;
  readonly jacobianCount: number;
  readonly cores: number;
  /** Whether controls share ports, so that v is not x. */
  readonly merged: boolean;
  readonly shifted: boolean;
  /** Entries of I − K J by row (elimination order) and port that can differ from 0. */
  readonly matrixEntries: readonly (readonly number[])[];
  /**
   * Place of each entry of the factors of I − K J, fill-in followed, row · ports + port; −1: always 0. The inverses of the pairs' determinants come
   * after them.
   */
  readonly factorPlaces: Int32Array;
  /** Over the ports, or of the nodal form where that is what runs. */
  readonly factorCount: number;
  readonly inverseCount: number;
}

/** Packed entries of a device's Jacobian that its law leaves 0: a gate's diodes, a grid's current. */
export function isAlwaysZero({ kind, controls }: DeviceShape, current: number, control: number): boolean {
  if (kind === deviceKind.fieldEffect) return current > 0 && control !== current - 1;
  return kind === deviceKind.triode && controls === 2 && current === 1 && control === 1;
}

export function kernelStructure({ topology, devices }: Pick<CircuitProgram, 'topology' | 'devices'>): KernelStructure {
  const shapes = shapesOf(devices);
  const matrixEntries = entriesOf(topology, shapes);
  const { places, count } = factorsOf(topology, matrixEntries);
  return {
    key: topology.key,
    states: topology.stateCount,
    controls: topology.controlCount,
    ports: topology.portCount,
    currents: topology.currentCount,
    topology,
    devices: shapes,
    parameterCount: devices.parameters.length,
    jacobianCount: devices.jacobianOffsets[devices.count]!,
    cores: devices.cores.length,
    merged: topology.portCount < topology.controlCount,
    shifted: topology.shifted,
    matrixEntries,
    factorPlaces: places,
    factorCount: topology.nodal?.matrixRows.columns.length ?? count,
    inverseCount: topology.nodal?.size ?? (topology.portCount + 1) >> 1,
  };
}

function shapesOf(devices: DeviceTable): DeviceShape[] {
  return Array.from({ length: devices.count }, (_, d) => ({
    kind: devices.kinds[d]!,
    firstControl: devices.controlOffsets[d]!,
    controls: devices.controlOffsets[d + 1]! - devices.controlOffsets[d]!,
    firstCurrent: devices.currentOffsets[d]!,
    currents: devices.currentOffsets[d + 1]! - devices.currentOffsets[d]!,
    firstParameter: devices.parameterOffsets[d]!,
    firstJacobian: devices.jacobianOffsets[d]!,
    core: devices.cores.indexOf(d),
  }));
}

function entriesOf(topology: ProgramTopology, shapes: readonly DeviceShape[]): number[][] {
  const { feedbackRows: { starts, columns }, eliminationOrder, controlPorts } = topology;
  return Array.from(eliminationOrder, (row) => {
    const entries = new Set([row]);
    const fed = columns.subarray(starts[row]!, starts[row + 1]!);
    for (const shape of shapes) {
      for (let i = 0; i < shape.currents; i += 1) {
        if (!fed.includes(shape.firstCurrent + i)) continue;
        for (let c = 0; c < shape.controls; c += 1) if (!isAlwaysZero(shape, i, c)) entries.add(controlPorts[shape.firstControl + c]!);
      }
    }
    return [...entries].sort((a, b) => a - b);
  });
}

/** Where `factorInPairs` puts something. */
function factorsOf({ portCount: m }: ProgramTopology, entries: readonly (readonly number[])[]): { places: Int32Array; count: number } {
  const present = new Uint8Array(m * m);
  entries.forEach((row, k) => { for (const port of row) present[k * m + port] = 1; });
  for (let k = 0; k + 1 < m; k += 2) {
    const has = (row: number, c: number): boolean => present[row * m + c] === 1;
    for (let row = k + 2; row < m; row += 1) {
      const [p, q] = [has(row, k), has(row, k + 1)];
      const byFirst = (p && has(k + 1, k + 1)) || (q && has(k + 1, k));
      const bySecond = (q && has(k, k)) || (p && has(k, k + 1));
      present[row * m + k] = byFirst ? 1 : 0;
      present[row * m + k + 1] = bySecond ? 1 : 0;
      for (let c = k + 2; c < m; c += 1) if ((byFirst && has(k, c)) || (bySecond && has(k + 1, c))) present[row * m + c] = 1;
    }
  }
  const places = new Int32Array(m * m).fill(-1);
  let count = 0;
  present.forEach((flag, at) => {
    if (flag === 0) return;
    places[at] = count;
    count += 1;
  });
  return { places, count };
}
