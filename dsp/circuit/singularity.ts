/** What a singular direct-current matrix means in the circuit: an undetermined node, a contradiction, or a current that may be chosen. */
import { CircuitError } from './document-errors.ts';
import type { RankReport } from './rank.ts';
import type { CircuitSystem } from './system.ts';

/** Equation `row` says nothing new and unknown `unknown` is undetermined: the row is replaced by `w[unknown] = 0`. */
export interface RedundantRow {
  readonly row: number;
  readonly unknown: number;
  /** A loop with an inductor in it is singular at direct current only; one of sources alone at every step. */
  readonly hasInductor: boolean;
}

/** Entries of a null vector below this of its largest are rounding. */
const negligible = 1e-9;
/** yᵀ s below this of its terms is rounding: the loop agrees with itself. */
const contradiction = 1e-12;

/**
 * The equation to replace so that the circuit is determined, or null if the null vectors reach a node and `nodesToo` is false.
 * `constant` is the right side at full supplies (the rest input in it), `input` what one volt of signal adds.
 * Throws `CircuitError`: an undetermined node is named if `nodesToo`; so is a loop of sources that contradicts itself.
 */
export function resolveSingularity(
  system: CircuitSystem, report: RankReport, constant: Float64Array, input: Float64Array, nodesToo: boolean,
): RedundantRow | null {
  const nodes = system.nodeNames.length;
  for (const x of report.right) {
    const node = largestIn(x, 0, nodes);
    if (!(Math.abs(x[node] ?? 0) > negligible * peakOf(x))) continue;
    if (!nodesToo) return null;
    throw new CircuitError(
      `node "${system.nodeNames[node]!}": its DC voltage is undetermined; only capacitors or current outputs reach it. Add a DC path to ground`);
  }
  const inductors = new Set(system.states.flatMap((state, k) => (state.kind !== 'capacitor' ? [system.stateRows[2 * k]!] : [])));
  const x = report.right[0]!;
  const y = bestMatch(x, report.left);
  const involved = indicesOf(y);
  const hasInductor = involved.some((row) => inductors.has(row));
  if (contradicts(y, constant, report.rowScales) || (!hasInductor && contradicts(y, input, report.rowScales))) {
    const names = new Set(involved.map((row) => system.branchNames[row - nodes] ?? system.nodeNames[row]!));
    throw new CircuitError(`loop of voltage sources ${[...names].join(', ')} contradicts itself`);
  }
  const candidates = indicesOf(x).filter((unknown) => !hasInductor || inductors.has(unknown));
  const unknown = candidates.length > 0 ? largestOf(x, candidates) : largestIn(x, nodes, x.length);
  const row = involved.includes(unknown) ? unknown : largestOf(y, involved);
  return { row, unknown, hasInductor };
}

/** Puts `w[unknown] = 0` in place of each redundant row of a size × size matrix. */
export function replaceRows(matrix: Float64Array, size: number, redundant: readonly RedundantRow[]): void {
  for (const { row, unknown } of redundant) {
    matrix.fill(0, row * size, (row + 1) * size);
    matrix[row * size + unknown] = 1;
  }
}

function contradicts(y: Float64Array, side: Float64Array, rowScales: Float64Array): boolean {
  let sum = 0;
  let terms = 0;
  for (let row = 0; row < y.length; row += 1) {
    const term = y[row]! * rowScales[row]! * side[row]!;
    sum += term;
    terms += Math.abs(term);
  }
  return Math.abs(sum) > contradiction * terms;
}

/** With several loops at once: the left null vector that has most to do with x. */
function bestMatch(x: Float64Array, left: readonly Float64Array[]): Float64Array {
  const overlap = (y: Float64Array): number => y.reduce((sum, entry, k) => sum + Math.abs(entry * x[k]!), 0) / peakOf(y);
  return left.reduce((best, y) => (overlap(y) > overlap(best) ? y : best));
}

function peakOf(vector: Float64Array): number {
  return vector.reduce((peak, entry) => Math.max(peak, Math.abs(entry)), 0);
}

function indicesOf(vector: Float64Array): number[] {
  const peak = peakOf(vector);
  return [...vector.keys()].filter((k) => Math.abs(vector[k]!) > negligible * peak);
}

function largestOf(vector: Float64Array, indices: readonly number[]): number {
  return indices.reduce((best, k) => (Math.abs(vector[k]!) > Math.abs(vector[best]!) ? k : best), indices[0]!);
}

function largestIn(vector: Float64Array, from: number, to: number): number {
  let best = from;
  for (let k = from; k < to; k += 1) if (Math.abs(vector[k]!) > Math.abs(vector[best]!)) best = k;
  return best;
}
