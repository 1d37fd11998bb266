/** The nodal form of one channel's solve, readable: what the compiled kernel must equal to the bit (`program.ts` lays down the order). */
import { leastPivotShare } from './ordered-elimination.ts';
import type { NodalInstance, NodalTopology } from './program.ts';
import type { DeviceTable } from './system.ts';

/** After construction nothing allocates and nothing throws. */
export class NodalSolve {
  readonly topology: NodalTopology;
  readonly #instance: NodalInstance;
  readonly #devices: DeviceTable;
  /** e = i − J v̂ of the last evaluation. */
  readonly excess: Float64Array;
  /** Factors by place, and the reciprocals of their pivots. */
  readonly factors: Float64Array;
  readonly inverses: Float64Array;
  /** b of this sample. */
  readonly #sources: Float64Array;
  readonly #right: Float64Array;
  /** w of the last solve. */
  readonly unknowns: Float64Array;
  /** Of each entry left of the diagonal: what it takes from its row, places (target, source) from `starts[entry]` on. */
  readonly #takenStarts: Int32Array;
  readonly #taken: Int32Array;
  /** Place of each row's diagonal. */
  readonly #diagonals: Int32Array;

  constructor(topology: NodalTopology, instance: NodalInstance, devices: DeviceTable) {
    const { size, matrixRows: { starts, columns } } = topology;
    this.topology = topology;
    this.#instance = instance;
    this.#devices = devices;
    this.excess = new Float64Array(devices.currentCount);
    this.factors = new Float64Array(columns.length);
    this.inverses = new Float64Array(size);
    this.#sources = new Float64Array(size);
    this.#right = new Float64Array(size);
    this.unknowns = new Float64Array(size);
    this.#diagonals = Int32Array.from({ length: size }, (_, k) => placeIn(topology, k, k));
    const takenStarts = [0];
    const taken: number[] = [];
    for (let k = 0; k < size; k += 1) {
      for (let place = starts[k]!; place < starts[k + 1]!; place += 1) {
        const j = columns[place]!;
        if (j < k) {
          for (let source = starts[j]!; source < starts[j + 1]!; source += 1) {
            if (columns[source]! > j) taken.push(placeIn(topology, k, columns[source]!), source);
          }
        }
        takenStarts.push(taken.length);
      }
    }
    this.#takenStarts = Int32Array.from(takenStarts);
    this.#taken = Int32Array.from(taken);
  }

  /** b from input and states. */
  predict(signal: Float64Array): void {
    const { sourceRows: { starts, columns } } = this.topology;
    const { sourceConstants, sourceCoefficients } = this.#instance;
    let entry = 0;
    for (let row = 0; row < sourceConstants.length; row += 1) {
      let sum = sourceConstants[row]!;
      for (const end = starts[row + 1]!; entry < end; entry += 1) sum += sourceCoefficients[entry]! * signal[columns[entry]!]!;
      this.#sources[row] = sum;
    }
  }

  /** e and the factors of an evaluation. False: a pivot counts as 0. */
  factor(volts: Float64Array, currents: Float64Array, jacobian: Float64Array): boolean {
    this.#takeExcess(volts, currents, jacobian);
    const { topology: { size, matrixRows: { starts, columns }, linearPlaces, stampPlaces, stampEntries, stampSigns }, factors, inverses } = this;
    const { linearCoefficients } = this.#instance;
    factors.fill(0);
    for (let k = 0; k < linearPlaces.length; k += 1) factors[linearPlaces[k]!] = linearCoefficients[k]!;
    for (let k = 0; k < stampPlaces.length; k += 1) factors[stampPlaces[k]!] = factors[stampPlaces[k]!]! + stampSigns[k]! * jacobian[stampEntries[k]!]!;
    let usable = true;
    for (let k = 0; k < size; k += 1) {
      let rowSum = 0;
      for (let place = starts[k]!; place < starts[k + 1]!; place += 1) rowSum += Math.abs(factors[place]!);
      for (let place = starts[k]!; columns[place]! < k; place += 1) {
        const multiplier = factors[place]! * inverses[columns[place]!]!;
        factors[place] = multiplier;
        for (let at = this.#takenStarts[place]!; at < this.#takenStarts[place + 1]!; at += 2) {
          factors[this.#taken[at]!] = factors[this.#taken[at]!]! - multiplier * factors[this.#taken[at + 1]!]!;
        }
      }
      const pivot = factors[this.#diagonals[k]!]!;
      if (!(Math.abs(pivot) >= leastPivotShare * rowSum)) usable = false;
      inverses[k] = 1 / pivot;
    }
    return usable;
  }

  #takeExcess(volts: Float64Array, currents: Float64Array, jacobian: Float64Array): void {
    const { count, controlOffsets, currentOffsets } = this.#devices;
    const { controlHeld } = this.topology;
    const { controlHeldVolts } = this.#instance;
    let entry = 0;
    for (let d = 0; d < count; d += 1) {
      for (let i = currentOffsets[d]!; i < currentOffsets[d + 1]!; i += 1) {
        let sum = currents[i]!;
        for (let c = controlOffsets[d]!; c < controlOffsets[d + 1]!; c += 1, entry += 1) sum -= jacobian[entry]! * (controlHeld[c] === 1 ? volts[c]! - controlHeldVolts[c]! : volts[c]!);
        this.excess[i] = sum;
      }
    }
  }

  /** w, and from it g = P w − x. */
  solve(portVolts: Float64Array, step: Float64Array): void {
    const { topology: { size, feedRows, feedSigns, matrixRows: { starts, columns }, portPlus, portMinus, portSigns, portHeld }, factors, inverses, unknowns, excess } = this;
    const right = this.#right;
    const { portHeldVolts } = this.#instance;
    let feed = 0;
    for (let k = 0; k < size; k += 1) {
      let sum = this.#sources[k]!;
      for (const end = feedRows.starts[k + 1]!; feed < end; feed += 1) sum += feedSigns[feed]! * excess[feedRows.columns[feed]!]!;
      for (let place = starts[k]!; columns[place]! < k; place += 1) sum -= factors[place]! * right[columns[place]!]!;
      right[k] = sum;
    }
    for (let k = size - 1; k >= 0; k -= 1) {
      let sum = right[k]!;
      for (let place = this.#diagonals[k]! + 1; place < starts[k + 1]!; place += 1) sum -= factors[place]! * unknowns[columns[place]!]!;
      unknowns[k] = sum * inverses[k]!;
    }
    for (let port = 0; port < step.length; port += 1) {
      const plus = portPlus[port]!;
      const minus = portMinus[port]!;
      const across = portSigns[port]! * ((plus < 0 ? 0 : unknowns[plus]!) - (minus < 0 ? 0 : unknowns[minus]!));
      step[port] = (portHeld[port] === 1 ? across + portHeldVolts[port]! : across) - portVolts[port]!;
    }
  }

  /** New states and output from input, states and w. */
  advance(signal: Float64Array, next: Float64Array): void {
    const { updateRows: { starts, columns } } = this.topology;
    const { updateConstants, updateCoefficients } = this.#instance;
    const n = next.length - 1;
    let entry = 0;
    for (let row = 0; row <= n; row += 1) {
      let sum = updateConstants[row]!;
      for (const end = starts[row + 1]!; entry < end; entry += 1) {
        const c = columns[entry]!;
        sum += updateCoefficients[entry]! * (c <= n ? signal[c]! : this.unknowns[c - 1 - n]!);
      }
      next[row] = sum;
    }
  }
}

/** Number of an entry that is there. */
export function placeIn({ matrixRows: { starts, columns } }: NodalTopology, row: number, column: number): number {
  for (let place = starts[row]!; place < starts[row + 1]!; place += 1) if (columns[place] === column) return place;
  throw new Error(`nodal form: expected an entry in row ${row}, column ${column}`);
}
