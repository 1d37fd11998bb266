/**
 * The nodal form of a step, for circuits of many ports: what devices do not touch is eliminated once, and what is left, the *kept* unknowns w, stays sparse. With currents
 * c = i + J (v − v̂) the kept equations are `(G − Q J P) w = b + Q e`: b from input and states, e = i − J v̂ from the last evaluation, v = P w. Newton's step over the ports
 * is P w − x, as in the port form, at a cost that grows with the circuit's size and not with its cube; states and output are read from w. (Modified nodal analysis, Ho, Ruehli,
 * Brennan 1975, from memory.)
 */
import { replaceRows } from './singularity.ts';
import type { RedundantRow } from './singularity.ts';
import { biasesOf, markowitz } from './nodal-order.ts';
import { firstControls } from './ports.ts';
import type { PortMap } from './ports.ts';
import type { NodalInstance, NodalTopology, SparseRows } from './program.ts';
import type { CircuitSystem, DeviceTable } from './system.ts';

/** Where the nodal form is taken: in circuits of so many ports, where a sample costs less than this part of the port form's multiplications. */
export interface NodalChoice {
  readonly leastPorts: number;
  readonly largestShare: number;
}
export const usualNodalChoice: NodalChoice = { leastPorts: 7, largestShare: 0.7 };
/** Of a sample, on average: evaluations, and solutions (the first needs no evaluation). */
const meanEvaluations = 1.5;
const meanSolves = 2.5;
/** An entry is present above this part of its row's largest in a pseudo-random assembly … */
const presentShare = 1e-12;
/** … and elsewhere may be rounding noise up to this part of it, and is left out. */
const noiseShare = 1e-10;

/** What is kept, and in which order the rest goes: the same for every value. */
interface Plan {
  readonly kept: readonly number[];
  readonly eliminated: readonly { readonly row: number; readonly column: number }[];
  readonly rows: readonly number[];
  /** Among the eliminated: nodes that devices touch but ideal sources hold, whatever the signal. */
  readonly held: readonly number[];
}

/** Kept equations, dense: N rows over [w | 1 | u | z | i], and new states and output over [1 | u | z | w | i]. */
export interface NodalEquations {
  readonly size: number;
  readonly states: number;
  readonly currents: number;
  readonly matrix: Float64Array;
  /** N × (2 + n): constant, u, z. */
  readonly sources: Float64Array;
  /** N × r. */
  readonly feed: Float64Array;
  /** (n + 1) × (2 + n + N): 1, u, z, w. */
  readonly updates: Float64Array;
  /** Largest magnitude that a device current has in the updates: they must not need one. */
  readonly currentInUpdates: number;
  /** Index among the kept of each unknown; −1: eliminated. */
  readonly place: Int32Array;
  /** Volts of each unknown that is held; 0: of any other. */
  readonly heldVolts: Float64Array;
  /** Largest part of a held unknown that is not constant: there must be none. */
  readonly movingHeld: number;
}

export interface NodalStep {
  readonly stepSeconds: number;
  readonly backwardEuler: Uint8Array;
  readonly redundant: readonly RedundantRow[];
}

interface Stamped {
  readonly matrix: Float64Array;
  /** size × (2 + n + r): constant, u, z, i. */
  readonly sides: Float64Array;
}

function stampStep(system: CircuitSystem, { stepSeconds, backwardEuler, redundant }: NodalStep): Stamped {
  const { size, states: { length: n }, devices: { currentCount: r } } = system;
  const stamped = system.stamp({ kind: 'step', stepSeconds, backwardEuler });
  const matrix = Float64Array.from(stamped.matrix);
  replaceRows(matrix, size, redundant);
  const width = 2 + n + r;
  const sides = new Float64Array(size * width);
  for (let row = 0; row < size; row += 1) {
    sides[row * width] = stamped.constant[row]!;
    sides[row * width + 1] = stamped.input[row]!;
    for (let k = 0; k < n; k += 1) sides[row * width + 2 + k] = stamped.memory[row * n + k]!;
    for (let k = 0; k < r; k += 1) sides[row * width + 2 + n + k] = stamped.current[row * r + k]!;
  }
  for (const { row } of redundant) sides.fill(0, row * width, (row + 1) * width);
  return { matrix, sides };
}

/** From a pseudo-random assembly; null where something cannot be eliminated. */
export function planNodal(system: CircuitSystem, step: NodalStep): Plan | null {
  const { size, controlRows, currentRows, states: { length: n }, devices: { currentCount: r } } = system;
  const width = 2 + n + r;
  const touched = new Set([...controlRows, ...currentRows].filter((row) => row >= 0));
  const { matrix, sides } = stampStep(system, step);
  const kept = new Set(Array.from({ length: size }, (_, k) => k).filter((k) => touched.has(k)));
  const fed = new Set(Array.from(currentRows).filter((row) => row >= 0));
  const free = new Set(Array.from({ length: size }, (_, k) => k));
  const eliminated: { row: number; column: number }[] = [];
  const columns = new Set(Array.from({ length: size }, (_, k) => k).filter((k) => !touched.has(k)));
  // Rows without device currents first, so that none comes into another row.
  for (const onlyUnfed of [true, false]) {
    for (;;) {
      let best: { row: number; column: number; size: number } | null = null;
      for (const column of columns) {
        for (const row of free) {
          if (onlyUnfed && fed.has(row)) continue;
          const magnitude = Math.abs(matrix[row * size + column]!);
          if (magnitude > 1e-9 && (best === null || magnitude > best.size)) best = { row, column, size: magnitude };
        }
      }
      if (best === null) break;
      eliminate(matrix, size, best.row, best.column, sides, width);
      eliminated.push({ row: best.row, column: best.column });
      free.delete(best.row);
      columns.delete(best.column);
    }
  }
  if (columns.size > 0 || kept.size !== free.size) return null;
  const held: number[] = [];
  for (const row of [...free]) {
    const left = [...kept].filter((column) => Math.abs(matrix[row * size + column]!) > presentShare);
    const moves = sides.subarray(row * width + 1, (row + 1) * width).some((value) => Math.abs(value) > presentShare);
    if (left.length !== 1 || moves) continue;
    const column = left[0]!;
    eliminate(matrix, size, row, column, sides, width);
    eliminated.push({ row, column });
    held.push(column);
    free.delete(row);
    kept.delete(column);
  }
  return { kept: [...kept], eliminated, rows: [...free], held };
}

/** Gauss–Jordan: the pivot row becomes 1 in its column, all others lose it. */
function eliminate(matrix: Float64Array, size: number, row: number, column: number, sides: Float64Array, width: number): void {
  const inverse = 1 / matrix[row * size + column]!;
  for (let c = 0; c < size; c += 1) matrix[row * size + c] = matrix[row * size + c]! * inverse;
  matrix[row * size + column] = 1;
  for (let c = 0; c < width; c += 1) sides[row * width + c] = sides[row * width + c]! * inverse;
  for (let other = 0; other < size; other += 1) {
    const factor = matrix[other * size + column]!;
    if (other === row || factor === 0) continue;
    for (let c = 0; c < size; c += 1) matrix[other * size + c] = matrix[other * size + c]! - factor * matrix[row * size + c]!;
    matrix[other * size + column] = 0;
    for (let c = 0; c < width; c += 1) sides[other * width + c] = sides[other * width + c]! - factor * sides[row * width + c]!;
  }
}

export function nodalEquations(system: CircuitSystem, step: NodalStep, plan: Plan): NodalEquations {
  const { size, states: { length: n }, devices: { currentCount: r }, stateRows, outputRows } = system;
  const { matrix, sides } = stampStep(system, step);
  const width = 2 + n + r;
  for (const { row, column } of plan.eliminated) eliminate(matrix, size, row, column, sides, width);
  const { kept, rows } = plan;
  const N = kept.length;
  const place = new Int32Array(size).fill(-1);
  kept.forEach((unknown, k) => { place[unknown] = k; });
  const rowOf = new Map(plan.eliminated.map(({ row, column }) => [column, row]));
  /** An unknown over [1 | u | z | w | i]. */
  const full = 2 + n + N + r;
  const expressed = (unknown: number, factor: number, into: Float64Array): void => {
    if (unknown < 0) return;
    if (place[unknown]! >= 0) {
      into[2 + n + place[unknown]!]! += factor;
      return;
    }
    const row = rowOf.get(unknown)!;
    for (let c = 0; c < 2 + n; c += 1) into[c]! += factor * sides[row * width + c]!;
    kept.forEach((each, k) => { into[2 + n + k]! -= factor * matrix[row * size + each]!; });
    for (let c = 0; c < r; c += 1) into[2 + n + N + c]! += factor * sides[row * width + 2 + n + c]!;
  };
  const updates = new Float64Array((n + 1) * (2 + n + N));
  let currentInUpdates = 0;
  for (let k = 0; k <= n; k += 1) {
    const line = new Float64Array(full);
    const factor = k < n && step.backwardEuler[k] === 0 ? 2 : 1;
    const [plus, minus] = k < n ? [stateRows[2 * k]!, stateRows[2 * k + 1]!] : outputRows;
    expressed(plus, factor, line);
    expressed(minus, -factor, line);
    if (factor === 2) line[2 + k]! -= 1;
    updates.set(line.subarray(0, 2 + n + N), k * (2 + n + N));
    for (let c = 0; c < r; c += 1) currentInUpdates = Math.max(currentInUpdates, Math.abs(line[2 + n + N + c]!));
  }
  const heldVolts = new Float64Array(size);
  let movingHeld = 0;
  for (const unknown of plan.held) {
    const row = rowOf.get(unknown)!;
    heldVolts[unknown] = sides[row * width]!;
    for (let c = 1; c < width; c += 1) movingHeld = Math.max(movingHeld, Math.abs(sides[row * width + c]!));
    for (const each of kept) movingHeld = Math.max(movingHeld, Math.abs(matrix[row * size + each]!));
  }
  return {
    size: N, states: n, currents: r,
    matrix: Float64Array.from({ length: N * N }, (_, at) => matrix[rows[Math.floor(at / N)]! * size + kept[at % N]!]!),
    sources: Float64Array.from({ length: N * (2 + n) }, (_, at) => sides[rows[Math.floor(at / (2 + n))]! * width + (at % (2 + n))]!),
    feed: Float64Array.from({ length: N * r }, (_, at) => sides[rows[Math.floor(at / r)]! * width + 2 + n + (at % r)]!),
    updates, currentInUpdates, place, heldVolts, movingHeld,
  };
}

const largestIn = (values: Float64Array, from: number, count: number): number => {
  let largest = 0;
  for (let k = from; k < from + count; k += 1) largest = Math.max(largest, Math.abs(values[k]!));
  return largest;
};

/** Entries of rows that are present in one of the blocks. */
function present(blocks: readonly Float64Array[], rows: number, width: number): boolean[][] {
  return Array.from({ length: rows }, (_, row) => Array.from({ length: width }, (_unused, c) =>
    blocks.some((block) => Math.abs(block[row * width + c]!) > presentShare * largestIn(block, row * width, width))));
}

/** Throws where an entry outside the pattern (constants, the first column of sources and updates, are always there) is more than rounding noise. */
function requireNoise(what: string, values: Float64Array, shape: readonly (readonly boolean[])[]): void {
  const width = shape[0]?.length ?? 0;
  shape.forEach((row, k) => row.forEach((is, c) => {
    const limit = noiseShare * largestIn(values, k * width, width);
    const value = values[k * width + c]!;
    if (!is && !(Math.abs(value) <= limit) && !(what !== 'kept' && c === 0)) {
      throw new Error(`nodal form, ${what} row ${k}, column ${c}: expected 0 by the wiring, got ${value} in a row of up to ${limit / noiseShare}`);
    }
  }));
}

function sparse(rows: readonly (readonly number[])[]): SparseRows {
  const starts = new Int32Array(rows.length + 1);
  rows.forEach((row, k) => { starts[k + 1] = starts[k]! + row.length; });
  return { starts, columns: Int32Array.from(rows.flat()) };
}

/** Structure of the nodal form, and what gathers an instance's numbers; null where there is none, or it does not pay. */
export function chooseNodal(
  system: CircuitSystem, samples: readonly { readonly system: CircuitSystem; readonly step: NodalStep }[], step: NodalStep, ports: PortMap, jacobian: Float64Array, portCost: number, { leastPorts, largestShare }: NodalChoice,
): { readonly topology: NodalTopology; gather(step: NodalStep): NodalInstance } | null {
  const { devices } = system;
  if (ports.portCount < leastPorts || devices.cores.length > 0) return null;
  const plan = planNodal(samples[0]!.system, samples[0]!.step);
  if (plan === null || plan.kept.length === 0) return null;
  const assemblies = samples.map((sample) => nodalEquations(sample.system, sample.step, plan));
  const [first] = assemblies;
  const { size: N, states: n, currents: r, place } = first!;
  // Device currents enter the kept rows as they are, and nothing that lasts needs one.
  const plain = assemblies.every(({ feed, currentInUpdates, movingHeld }) => currentInUpdates < presentShare && movingHeld < presentShare && feed.every((value) => Math.abs(value) < presentShare || Math.abs(Math.abs(value) - 1) < presentShare));
  if (!plain) return null;
  const sourceShape = present(assemblies.map(({ sources }) => sources), N, 2 + n);
  const linearShape = present(assemblies.map(({ matrix }) => matrix), N, N);
  const updateShape = present(assemblies.map(({ updates }) => updates), n + 1, 2 + n + N);
  const stamps = stampsOf(system, first!.feed, place, N);
  // Which rows and columns are eliminated in turn.
  const rest = nodalEquations(system, step, plan);
  const conducting = biasesOf(devices, jacobian).map((slopes) => {
    const matrix = Float64Array.from(rest.matrix);
    for (const { row, column, entry, sign } of stamps) matrix[row * N + column]! += sign * slopes[entry]!;
    return matrix;
  });
  const shape = linearShape.map((row, k) => row.map((is, c) => is || stamps.some((stamp) => stamp.row === k && stamp.column === c)));
  const order = markowitz(conducting, shape, N);
  if (order === null) return null;
  const { rows, columns, filled } = order;
  const columnAt = new Int32Array(N);
  columns.forEach((column, k) => { columnAt[column] = k; });
  const matrixRows = sparse(rows.map((_, k) => Array.from({ length: N }, (_unused, c) => c).filter((c) => filled[k]![c])));
  const placeOf = (k: number, c: number): number => {
    for (let entry = matrixRows.starts[k]!; entry < matrixRows.starts[k + 1]!; entry += 1) if (matrixRows.columns[entry] === c) return entry;
    throw new Error(`nodal form: expected an entry in row ${k}, column ${c}`);
  };
  const linear: { place: number; row: number; column: number }[] = [];
  const placedStamps: { place: number; entry: number; sign: number }[] = [];
  rows.forEach((row, k) => {
    for (let entry = matrixRows.starts[k]!; entry < matrixRows.starts[k + 1]!; entry += 1) {
      const column = columns[matrixRows.columns[entry]!]!;
      if (linearShape[row]![column]) linear.push({ place: entry, row, column });
    }
  });
  for (const { row, column, entry, sign } of stamps) placedStamps.push({ place: placeOf(rows.indexOf(row), columnAt[column]!), entry, sign });
  placedStamps.sort((a, b) => a.place - b.place || a.entry - b.entry || b.sign - a.sign);
  const sourceRows = sparse(rows.map((row) => Array.from({ length: 1 + n }, (_, c) => c).filter((c) => sourceShape[row]![1 + c])));
  const feedRows = sparse(rows.map((row) => Array.from({ length: r }, (_, c) => c).filter((c) => Math.abs(first!.feed[row * r + c]!) > 0.5)));
  const feedSigns = Float64Array.from(rows.flatMap((row, k) => Array.from(feedRows.columns.subarray(feedRows.starts[k]!, feedRows.starts[k + 1]!), (c) => Math.sign(first!.feed[row * r + c]!))));
  const updateRows = sparse(updateShape.map((row) => [
    ...Array.from({ length: 1 + n }, (_, c) => c).filter((c) => row[1 + c]),
    ...Array.from({ length: N }, (_, k) => 1 + n + k).filter((c) => row[2 + n + columns[c - 1 - n]!]),
  ]));
  const firsts = firstControls(ports);
  const columnOf = (unknown: number): number => (unknown < 0 || place[unknown]! < 0 ? -1 : columnAt[place[unknown]!]!);
  const held = new Set(plan.held);
  const hasHeld = (control: number): number => (held.has(system.controlRows[2 * control]!) || held.has(system.controlRows[2 * control + 1]!) ? 1 : 0);
  const topology: NodalTopology = {
    size: N, sourceRows, feedRows, feedSigns, matrixRows,
    linearPlaces: Int32Array.from(linear, (entry) => entry.place),
    stampPlaces: Int32Array.from(placedStamps, (stamp) => stamp.place),
    stampEntries: Int32Array.from(placedStamps, (stamp) => stamp.entry),
    stampSigns: Float64Array.from(placedStamps, (stamp) => stamp.sign),
    portPlus: Int32Array.from(firsts, (control) => columnOf(system.controlRows[2 * control]!)),
    portMinus: Int32Array.from(firsts, (control) => columnOf(system.controlRows[2 * control + 1]!)),
    portSigns: Float64Array.from(firsts, (control) => system.controlSigns[control]!),
    portHeld: Uint8Array.from(firsts, hasHeld),
    controlHeld: Uint8Array.from({ length: devices.controlCount }, (_, control) => hasHeld(control)),
    updateRows,
  };
  if (nodalCost(topology, devices) > largestShare * portCost) return null;
  const gather = (at: NodalStep): NodalInstance => {
    const equations = nodalEquations(system, at, plan);
    requireNoise('kept', equations.matrix, linearShape);
    requireNoise('source', equations.sources, sourceShape);
    requireNoise('update', equations.updates, updateShape);
    const heldAt = (unknown: number): number => (unknown < 0 ? 0 : equations.heldVolts[unknown]!);
    const controlHeldVolts = Float64Array.from({ length: devices.controlCount }, (_, c) => system.controlSigns[c]! * (heldAt(system.controlRows[2 * c]!) - heldAt(system.controlRows[2 * c + 1]!)));
    return {
      controlHeldVolts,
      portHeldVolts: Float64Array.from(firsts, (control) => controlHeldVolts[control]!),
      sourceConstants: Float64Array.from(rows, (row) => equations.sources[row * (2 + n)]!),
      sourceCoefficients: Float64Array.from(rows.flatMap((row, k) => Array.from(sourceRows.columns.subarray(sourceRows.starts[k]!, sourceRows.starts[k + 1]!), (c) => equations.sources[row * (2 + n) + 1 + c]!))),
      linearCoefficients: Float64Array.from(linear, ({ row, column }) => equations.matrix[row * N + column]!),
      updateConstants: Float64Array.from({ length: n + 1 }, (_, k) => equations.updates[k * (2 + n + N)]!),
      updateCoefficients: Float64Array.from(Array.from({ length: n + 1 }, (_, k) => Array.from(updateRows.columns.subarray(updateRows.starts[k]!, updateRows.starts[k + 1]!),
        (c) => equations.updates[k * (2 + n + N) + (c <= n ? 1 + c : 2 + n + columns[c - 1 - n]!)]!)).flat()),
    };
  };
  return { topology, gather };
}

/** What devices add to the kept matrix: − Q J P. */
function stampsOf({ devices, controlRows, controlSigns }: CircuitSystem, feed: Float64Array, place: Int32Array, N: number): { row: number; column: number; entry: number; sign: number }[] {
  const stamps: { row: number; column: number; entry: number; sign: number }[] = [];
  const r = devices.currentCount;
  for (let d = 0; d < devices.count; d += 1) {
    let entry = devices.jacobianOffsets[d]!;
    for (let i = devices.currentOffsets[d]!; i < devices.currentOffsets[d + 1]!; i += 1) {
      for (let c = devices.controlOffsets[d]!; c < devices.controlOffsets[d + 1]!; c += 1, entry += 1) {
        for (let row = 0; row < N; row += 1) {
          if (Math.abs(feed[row * r + i]!) < 0.5) continue;
          const sign = -Math.sign(feed[row * r + i]!) * controlSigns[c]!;
          const [plus, minus] = [controlRows[2 * c]!, controlRows[2 * c + 1]!];
          if (plus >= 0 && place[plus]! >= 0) stamps.push({ row, column: place[plus]!, entry, sign });
          if (minus >= 0 && place[minus]! >= 0) stamps.push({ row, column: place[minus]!, entry, sign: -sign });
        }
      }
    }
  }
  return stamps;
}

/** Multiplications of a sample. */
function nodalCost({ size, sourceRows, matrixRows, stampPlaces, feedRows, updateRows }: NodalTopology, { jacobianOffsets, count }: DeviceTable): number {
  const upper = (k: number): number => Array.from(matrixRows.columns.subarray(matrixRows.starts[k]!, matrixRows.starts[k + 1]!)).filter((c) => c > k).length;
  let factoring = size;
  for (let k = 0; k < size; k += 1) {
    for (const c of matrixRows.columns.subarray(matrixRows.starts[k]!, matrixRows.starts[k + 1]!)) if (c < k) factoring += 1 + upper(c);
  }
  return sourceRows.columns.length + updateRows.columns.length
    + meanEvaluations * (factoring + stampPlaces.length + jacobianOffsets[count]!) + meanSolves * (matrixRows.columns.length + feedRows.columns.length + size);
}

/** Multiplications of a sample in port form. */
export function portFormCost(portRows: SparseRows, feedbackRows: SparseRows, updateRows: SparseRows, portCount: number, { jacobianOffsets, count }: DeviceTable): number {
  const m = portCount;
  const feedback = feedbackRows.columns.length;
  return portRows.columns.length + updateRows.columns.length
    + meanEvaluations * (2 * feedback + (m * m * m) / 3 + jacobianOffsets[count]!) + meanSolves * (feedback + m * m);
}
