/**
 * The linear equations of a circuit by modified nodal analysis (C. Ho, A. Ruehli, P. Brennan, "The modified nodal approach to network
 * analysis", 1975): `S w = s0 + su·u + Sz z + Si i`, w = node voltages, then branch currents. A node's row sums the currents leaving it.
 *
 * An element is a component resolved to row numbers; ground is −1 and is left out of every sum.
 */
import type { Discretisation, StampedEquations } from './system.ts';

export type LinearElement =
  | { readonly kind: 'conductance'; readonly a: number; readonly b: number; readonly siemens: number }
  /** `siemens` (v_c − v_d) flows from row `from` to row `to`. */
  | { readonly kind: 'transconductance'; readonly from: number; readonly to: number; readonly c: number; readonly d: number; readonly siemens: number }
  | { readonly kind: 'current'; readonly from: number; readonly to: number; readonly amperes: number }
  /** `v_a − v_b = volts`, plus u if `signal`; the branch current flows from a through the source to b. */
  | { readonly kind: 'source'; readonly a: number; readonly b: number; readonly branch: number; readonly volts: number; readonly signal: boolean }
  /** `v_a − v_b = gain (v_c − v_d)`. */
  | { readonly kind: 'amplifier'; readonly a: number; readonly b: number; readonly c: number; readonly d: number; readonly branch: number; readonly gain: number }
  | { readonly kind: 'capacitor'; readonly a: number; readonly b: number; readonly state: number; readonly farads: number }
  | { readonly kind: 'inductor'; readonly a: number; readonly b: number; readonly branch: number; readonly state: number; readonly henries: number }
  /** A core's flux λ as the branch's unknown: dλ/dt = v_a − v_b. Its current is a device's. */
  | { readonly kind: 'flux'; readonly a: number; readonly b: number; readonly branch: number; readonly state: number }
  /** Mutual inductance between two branches that have inductors already: adds M dj/dt of the one to the other. */
  | { readonly kind: 'mutual'; readonly branches: readonly [number, number]; readonly states: readonly [number, number]; readonly henries: number }
  /** `v_a − v_b = ratio (v_c − v_d)`, the branch current into a, ratio times as much out of c. */
  | { readonly kind: 'transformer'; readonly a: number; readonly b: number; readonly c: number; readonly d: number; readonly branch: number; readonly ratio: number };

/** A current of a device: `sign` · i flows from row `from` to row `to`. */
export interface CurrentPort {
  readonly from: number;
  readonly to: number;
  readonly sign: number;
}

export interface Dimensions {
  readonly size: number;
  readonly states: number;
}

/** The equations as arrays, sources at full value. */
export function stampEquations(
  elements: readonly LinearElement[], ports: readonly CurrentPort[], { size, states }: Dimensions, discretisation: Discretisation,
): StampedEquations {
  const stamped = {
    matrix: new Float64Array(size * size),
    constant: new Float64Array(size),
    input: new Float64Array(size),
    memory: new Float64Array(size * states),
    current: new Float64Array(size * ports.length),
  };
  for (const element of elements) stampElement(element, stamped, size, states, discretisation);
  ports.forEach(({ from, to, sign }, column) => {
    add(stamped.current, ports.length, from, column, -sign);
    add(stamped.current, ports.length, to, column, sign);
  });
  return stamped;
}

/**
 * The storage part E (size × size) of the analogue circuit, `(S_dc + s E) w = …` with s the complex frequency: capacitances in node
 * rows, −inductances in branch rows, −1 in those of fluxes.
 */
export function stampStorage(elements: readonly LinearElement[], size: number): Float64Array {
  const storage = new Float64Array(size * size);
  for (const element of elements) {
    if (element.kind === 'capacitor') addConductance(storage, size, element.a, element.b, element.farads);
    else if (element.kind === 'inductor') add(storage, size, element.branch, element.branch, -element.henries);
    else if (element.kind === 'flux') add(storage, size, element.branch, element.branch, -1);
    else if (element.kind === 'mutual') {
      add(storage, size, element.branches[0], element.branches[1], -element.henries);
      add(storage, size, element.branches[1], element.branches[0], -element.henries);
    }
  }
  return storage;
}

function stampElement(element: LinearElement, stamped: StampedEquations, size: number, states: number, rule: Discretisation): void {
  const { matrix } = stamped;
  switch (element.kind) {
    case 'conductance':
      addConductance(matrix, size, element.a, element.b, element.siemens);
      return;
    case 'transconductance':
      add(matrix, size, element.from, element.c, element.siemens);
      add(matrix, size, element.from, element.d, -element.siemens);
      add(matrix, size, element.to, element.c, -element.siemens);
      add(matrix, size, element.to, element.d, element.siemens);
      return;
    case 'current':
      add(stamped.constant, 1, element.from, 0, -element.amperes);
      add(stamped.constant, 1, element.to, 0, element.amperes);
      return;
    case 'source':
      addBranch(matrix, size, element.a, element.b, element.branch);
      stamped.constant[element.branch] = element.volts;
      if (element.signal) stamped.input[element.branch] = 1;
      return;
    case 'amplifier':
      addBranch(matrix, size, element.a, element.b, element.branch);
      add(matrix, size, element.branch, element.c, -element.gain);
      add(matrix, size, element.branch, element.d, element.gain);
      return;
    case 'transformer':
      addBranch(matrix, size, element.a, element.b, element.branch);
      add(matrix, size, element.c, element.branch, -element.ratio);
      add(matrix, size, element.d, element.branch, element.ratio);
      add(matrix, size, element.branch, element.c, -element.ratio);
      add(matrix, size, element.branch, element.d, element.ratio);
      return;
    case 'capacitor': {
      if (rule.kind === 'direct-current') return;
      const siemens = ratePerStep(rule, element.state) * element.farads;
      addConductance(matrix, size, element.a, element.b, siemens);
      add(stamped.memory, states, element.a, element.state, siemens);
      add(stamped.memory, states, element.b, element.state, -siemens);
      return;
    }
    case 'inductor':
      addBranch(matrix, size, element.a, element.b, element.branch);
      if (rule.kind === 'step') addFlux(stamped, size, states, element.branch, element.branch, element.state, element.henries, rule);
      return;
    case 'flux':
      stampFlux(element, stamped, size, states, rule);
      return;
    case 'mutual': {
      if (rule.kind === 'direct-current') return;
      const [first, second] = element.branches;
      addFlux(stamped, size, states, first, second, element.states[1], element.henries, rule);
      addFlux(stamped, size, states, second, first, element.states[0], element.henries, rule);
    }
  }
}

/** At direct current `v_a − v_b = 0`; else `λ − (h/2)(v_a − v_b) = z`. */
function stampFlux(
  { a, b, branch, state }: Extract<LinearElement, { kind: 'flux' }>, { matrix, memory }: StampedEquations, size: number, states: number, rule: Discretisation,
): void {
  const perVolt = rule.kind === 'direct-current' ? -1 : 1 / ratePerStep(rule, state);
  add(matrix, size, branch, a, -perVolt);
  add(matrix, size, branch, b, perVolt);
  if (rule.kind === 'direct-current') return;
  add(matrix, size, branch, branch, 1);
  add(memory, states, branch, state, 1);
}

/** 2/h, or 1/h for a backward Euler state. */
function ratePerStep(rule: Extract<Discretisation, { kind: 'step' }>, state: number): number {
  return (rule.backwardEuler[state] === 1 ? 1 : 2) / rule.stepSeconds;
}

function addFlux(
  stamped: StampedEquations, size: number, states: number,
  row: number, branch: number, state: number, henries: number, rule: Extract<Discretisation, { kind: 'step' }>,
): void {
  const ohms = ratePerStep(rule, state) * henries;
  add(stamped.matrix, size, row, branch, -ohms);
  add(stamped.memory, states, row, state, -ohms);
}

function addBranch(matrix: Float64Array, size: number, a: number, b: number, branch: number): void {
  add(matrix, size, a, branch, 1);
  add(matrix, size, b, branch, -1);
  add(matrix, size, branch, a, 1);
  add(matrix, size, branch, b, -1);
}

function addConductance(matrix: Float64Array, size: number, a: number, b: number, siemens: number): void {
  add(matrix, size, a, a, siemens);
  add(matrix, size, b, b, siemens);
  add(matrix, size, a, b, -siemens);
  add(matrix, size, b, a, -siemens);
}

/** Adds to entry (row, column) of a row-major matrix of `columns` columns; ground is nobody's row and nobody's column. */
function add(matrix: Float64Array, columns: number, row: number, column: number, value: number): void {
  if (row < 0 || column < 0) return;
  const at = row * columns + column;
  matrix[at] = matrix[at]! + value;
}
