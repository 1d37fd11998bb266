/**
 * The structure of a reduced circuit: which entries of its rows can be different from zero at all, and in which order the Newton matrix
 * is eliminated. It follows from the wiring, so that one compiled kernel serves every value.
 */
import type { SeededRandom } from '../math/index.ts';
import type { CircuitDocument, Component } from './components.ts';
import { newtonMatrix } from './linearise.ts';
import { portJacobian } from './ports.ts';
import type { MergedEquations, PortMap } from './ports.ts';
import type { NodalTopology, ProgramInstance, ProgramTopology, SparseRows } from './program.ts';
import type { ReducedCircuit, ReducedEquations } from './reduce.ts';
import type { DeviceTable } from './system.ts';

/** An entry exists if it exceeds this part of the largest in its row, and among the nodes, in a pseudo-random assembly. */
const presentShare = 1e-13;
/**
 * Outside the pattern an entry may be rounding noise up to this part of them, and is left out. (A row may be nothing but noise: a capacitor across a
 * supply.)
 */
const noiseShare = 1e-12;

/** Fields whose zero means that the part is not there, so that a value would change the wiring. */
const absentAtZero = new Set(['baseOhms', 'emitterCapacitanceFarads', 'collectorCapacitanceFarads']);

/**
 * The same wiring with every value replaced by a pseudo-random positive number of 0.5 … 2 (a coupling stays below 1, and 1 stays 1):
 * whatever vanishes in two of these vanishes for all values.
 */
export function randomValues(document: CircuitDocument, random: SeededRandom): CircuitDocument {
  const components = document.components.map((component) => {
    const fields = Object.entries(component).map(([field, value]) => {
      if (typeof value !== 'number' || (value === 0 && absentAtZero.has(field))) return [field, value] as const;
      const unit = random.nextUnit();
      if (field === 'coupling') return [field, value === 1 ? 1 : 0.3 + 0.6 * unit] as const;
      return [field, 0.5 + 1.5 * unit] as const;
    });
    return Object.fromEntries(fields) as unknown as Component;
  });
  return { ...document, components };
}

/** Which entries of the three blocks exist, in order of the signal vector [u | z | c]; u always does. */
export interface EntryPattern {
  readonly portRows: SparseRows;
  readonly feedbackRows: SparseRows;
  readonly updateRows: SparseRows;
}

export function findPattern(samples: readonly ReducedCircuit[]): EntryPattern {
  const rowsOf = (blocks: readonly DenseRows[]): SparseRows => {
    const { rowCount, width, alwaysPresent } = blocks[0]!;
    const starts = new Int32Array(rowCount + 1);
    const columns: number[] = [];
    for (let row = 0; row < rowCount; row += 1) {
      const largest = blocks.map((block) => largestOf(block, row));
      for (let c = 0; c < width; c += 1) {
        const present = blocks.some((block, k) => Math.abs(block.at(row, c)) > presentShare * Math.max(largest[k]!, block.scale(c)));
        if (present || c < alwaysPresent) columns.push(c);
      }
      starts[row + 1] = columns.length;
    }
    return { starts, columns: Int32Array.from(columns) };
  };
  return {
    portRows: rowsOf(samples.map(portBlock)),
    feedbackRows: rowsOf(samples.map(feedbackBlock)),
    updateRows: rowsOf(samples.map(updateBlock)),
  };
}

/** A block of the reduced equations as rows over the signal vector (or over the currents, for K). */
interface DenseRows {
  readonly rowCount: number;
  readonly width: number;
  /** So many leading columns are kept whether or not they vanish. */
  readonly alwaysPresent: number;
  at(row: number, column: number): number;
  /** Largest among the nodes, of the kind of this column. */
  scale(column: number): number;
}

function portBlock(reduced: ReducedCircuit): DenseRows {
  const n = reduced.stateCount;
  return {
    rowCount: reduced.portCount, width: 1 + n, alwaysPresent: 1,
    at: (row, c) => (c === 0 ? reduced.portInput[row]! : reduced.portMemory[row * n + c - 1]!),
    scale: () => reduced.memoryScale,
  };
}

function feedbackBlock(reduced: ReducedCircuit): DenseRows {
  const r = reduced.currentCount;
  return { rowCount: reduced.portCount, width: r, alwaysPresent: 0, at: (row, c) => reduced.portCurrent[row * r + c]!, scale: () => reduced.currentScale };
}

function updateBlock(reduced: ReducedCircuit): DenseRows {
  const { stateCount: n, currentCount: r } = reduced;
  return {
    rowCount: n + 1, width: 1 + n + r, alwaysPresent: 1,
    scale: (c) => (c <= n ? reduced.memoryScale : reduced.currentScale),
    at: (row, c) => {
      const last = row === n;
      if (c === 0) return last ? reduced.outputInput[0]! : reduced.stateInput[row]!;
      if (c <= n) return last ? reduced.outputMemory[c - 1]! : reduced.stateMemory[row * n + c - 1]!;
      return last ? reduced.outputCurrent[c - 1 - n]! : reduced.stateCurrent[row * r + c - 1 - n]!;
    },
  };
}

function largestOf(block: DenseRows, row: number): number {
  let largest = 0;
  for (let c = 0; c < block.width; c += 1) largest = Math.max(largest, Math.abs(block.at(row, c)));
  return largest;
}

/** The coefficients of `block` in the order of `rows`; throws where an entry outside the pattern is more than rounding noise. */
function gather(block: DenseRows, rows: SparseRows, what: string): Float64Array {
  const coefficients = new Float64Array(rows.columns.length);
  for (let row = 0; row < block.rowCount; row += 1) {
    let entry = rows.starts[row]!;
    const largest = largestOf(block, row);
    for (let c = 0; c < block.width; c += 1) {
      const value = block.at(row, c);
      if (entry < rows.starts[row + 1]! && rows.columns[entry] === c) {
        coefficients[entry] = value;
        entry += 1;
      } else if (!(Math.abs(value) <= noiseShare * Math.max(largest, block.scale(c)))) {
        throw new Error(`${what} row ${row}, column ${c}: expected 0 by the wiring, got ${value} in a row of up to ${largest}`);
      }
    }
  }
  return coefficients;
}

/** The numbers of one instance in the topology's order. */
export function gatherInstance({ equations: reduced, controlOffsets }: MergedEquations, pattern: EntryPattern, stepSeconds: number): ProgramInstance {
  return {
    subSteps: 1,
    stepSeconds,
    controlOffsets,
    portConstants: reduced.portConstant,
    portCoefficients: gather(portBlock(reduced), pattern.portRows, 'port'),
    feedbackCoefficients: gather(feedbackBlock(reduced), pattern.feedbackRows, 'feedback'),
    updateConstants: Float64Array.from([...reduced.stateConstant, ...reduced.outputConstant]),
    updateCoefficients: gather(updateBlock(reduced), pattern.updateRows, 'update'),
    nodal: null,
  };
}

/** The row of the same number is eliminated in its turn unless it is smaller than this part of the largest candidate. */
const ownRowShare = 1e-3;

/**
 * Rows of I − K J in the order in which they are eliminated, fixed for good. `jacobian` is dense, taken at one bias, but the order must serve them
 * all: a device that turns off makes its rows those of the identity, and there only the diagonal will do. So the diagonal is kept unless it is much
 * smaller than another row, then the largest is taken (ties to the lower row). Plain partial pivoting at the operating point sent every sample of a
 * common emitter in cut-off to the rescue: half of all under a square wave.
 */
export function eliminationOrder(reduced: ReducedEquations, ports: PortMap, jacobian: Float64Array): Int32Array {
  const m = reduced.portCount;
  const matrix = newtonMatrix(reduced, portJacobian(ports, jacobian));
  const order = Int32Array.from({ length: m }, (_, k) => k);
  for (let k = 0; k < m; k += 1) {
    let best = k;
    for (let row = k + 1; row < m; row += 1) {
      if (Math.abs(matrix[order[row]! * m + k]!) > Math.abs(matrix[order[best]! * m + k]!)) best = row;
    }
    const own = order.indexOf(k);
    if (own >= k && Math.abs(matrix[k * m + k]!) >= ownRowShare * Math.abs(matrix[order[best]! * m + k]!)) best = own;
    const pivotRow = order[best]!;
    order.copyWithin(k + 1, k, best);
    order[k] = pivotRow;
    const pivot = matrix[pivotRow * m + k]!;
    for (let row = k + 1; row < m; row += 1) {
      const at = order[row]! * m;
      const factor = matrix[at + k]! / pivot;
      for (let c = k; c < m; c += 1) matrix[at + c] = matrix[at + c]! - factor * matrix[pivotRow * m + c]!;
    }
  }
  return order;
}

/** Joins pattern, order and kinds of devices, and names the result. */
export function buildTopology(
  ports: PortMap, pattern: EntryPattern, order: Int32Array, devices: DeviceTable, shifted: boolean, nodal: NodalTopology | null,
): ProgramTopology {
  const { portCount, controlPorts, controlSigns } = ports;
  const { controlCount, currentCount } = devices;
  const stateCount = pattern.updateRows.starts.length - 2;
  const list = (values: ArrayLike<number>): string => Array.from(values).join(',');
  const rows = ({ starts: s, columns }: SparseRows): string => `${list(s)};${list(columns)}`;
  const key = [
    `${stateCount}/${portCount}/${currentCount}`, list(controlPorts), list(controlSigns), shifted ? 'shifted' : 'plain',
    list(devices.kinds), list(devices.currentOffsets),
    list(order), rows(pattern.portRows), rows(pattern.feedbackRows), rows(pattern.updateRows),
    ...(nodal === null ? [] : [nodalKey(nodal)]),
  ].join('|');
  return {
    key, stateCount, controlCount, portCount, currentCount, controlPorts, controlSigns, ...pattern,
    eliminationOrder: order,
    shifted, nodal,
  };
}

function nodalKey({ size, sourceRows, feedRows, feedSigns, matrixRows, linearPlaces, stampPlaces, stampEntries, stampSigns, portPlus, portMinus, portSigns, portHeld, controlHeld, updateRows }: NodalTopology): string {
  const parts = [
    sourceRows.starts, sourceRows.columns, feedRows.starts, feedRows.columns, feedSigns, matrixRows.starts, matrixRows.columns, linearPlaces, stampPlaces, stampEntries, stampSigns,
    portPlus, portMinus, portSigns, portHeld, controlHeld, updateRows.starts, updateRows.columns,
  ];
  return `nodal ${size};${parts.map((part) => Array.from(part).join(',')).join(';')}`;
}
