/**
 * A second, simple circuit solver to judge the bench's by. It shares nothing with it but the parsed document: its own numbering and
 * stamps, textbook device equations on the engine's own functions, derivatives by differences, full Newton on all nodes, no
 * reduction to ports. Trapezoidal steps (backward Euler for the first four), as small as asked for; slow, and meant to be.
 */
import type { CircuitDocument, Component } from '../../dsp/circuit/components.ts';
import { baseNode, nonlinearCurrents } from './direct-devices.ts';
import type { Nonlinear } from './direct-devices.ts';

export interface DirectOptions {
  /** Frames a second at which output is read. */
  readonly rate: number;
  /** Steps a frame. */
  readonly substeps?: number;
  /** Newton ends when no unknown moves by more than this (V or A), plus 1e-12 of itself. Large capacitors at small steps are thousands of siemens and need more. */
  readonly smallestMove?: number;
}

const boltzmannOverCharge = 1.380649e-23 / 1.602176634e-19;
const startingSteps = 4;
const mostIterations = 200;
const defaultSmallestMove = 1e-11;

/** A capacitor or one winding: the history its next step needs. */
interface Memory {
  readonly kind: 'capacitor' | 'winding';
  readonly a: number;
  readonly b: number;
  /** Row of the winding's current; −1 for a capacitor. */
  readonly branch: number;
  readonly farads: number;
  /** Inductances to the branches listed: own and mutual. */
  readonly henries: readonly (readonly [branch: number, henries: number])[];
  volts: number;
  amperes: number;
}

/** Solves one document; state advances with `run`, so a second call goes on where the first ended. */
export class DirectSolution {
  readonly nodes: string[] = [];
  private readonly size: number;
  private readonly linear: Float64Array;
  private readonly constant: Float64Array;
  private readonly inputBranch: number;
  private readonly nonlinear: Nonlinear[] = [];
  private readonly memories: Memory[] = [];
  private readonly stepSeconds: number;
  private readonly substeps: number;
  private readonly smallestMove: number;
  private readonly output: readonly [number, number];
  private w: Float64Array;
  private stepsTaken = 0;
  private seconds = 0;

  constructor(document: CircuitDocument, { rate, substeps = 64, smallestMove = defaultSmallestMove }: DirectOptions) {
    this.smallestMove = smallestMove;
    this.substeps = substeps;
    this.stepSeconds = 1 / (rate * substeps);
    const branchesOf = (component: Component): number =>
      component.kind === 'coupled-inductors' ? 2
        : ['inductor', 'voltage-source', 'input', 'amplifier', 'ideal-transformer'].includes(component.kind) ? 1 : 0;
    for (const component of document.components) for (const node of nodesOf(component)) this.rowOf(node);
    for (const component of document.components) if (component.kind === 'bipolar') this.rowOf(baseNode(component));
    let branch = this.nodes.length;
    this.size = branch + document.components.reduce((sum, component) => sum + branchesOf(component), 0);
    this.linear = new Float64Array(this.size * this.size);
    this.constant = new Float64Array(this.size);
    this.w = new Float64Array(this.size);
    let inputBranch = -1;
    const vt = boltzmannOverCharge * (document.temperatureC + 273.15);
    for (const component of document.components) {
      if (component.kind === 'input') inputBranch = branch;
      this.place(component, branch, vt);
      branch += branchesOf(component);
    }
    this.inputBranch = inputBranch;
    this.output = [this.rowOf(document.output[0]), this.rowOf(document.output[1])];
  }

  /** Rest with the input at `inputVolts`: supplies raised in twenty steps, capacitors open, windings short. */
  rest(inputVolts = 0): this {
    this.w.fill(0);
    for (let supply = 1; supply <= 20; supply += 1) this.newton(inputVolts, supply / 20, null);
    for (const memory of this.memories) {
      memory.volts = this.across(memory.a, memory.b);
      memory.amperes = memory.branch < 0 ? 0 : this.w[memory.branch]!;
    }
    this.stepsTaken = 0;
    return this;
  }

  get outputVolts(): number {
    return this.across(...this.output);
  }

  nodeVolts(node: string): number {
    return node === 'ground' ? 0 : this.w[this.nodes.indexOf(node)]!;
  }

  /** Output at the next `frames` frames, the input a function of time in seconds since the first `run`. */
  run(frames: number, input: (seconds: number) => number): Float64Array {
    const out = new Float64Array(frames);
    const startedAt = this.seconds;
    for (let frame = 0; frame < frames; frame += 1) {
      for (let k = 0; k < this.substeps; k += 1) {
        this.seconds = startedAt + (frame * this.substeps + k + 1) * this.stepSeconds;
        this.newton(input(this.seconds), 1, this.stepsTaken < startingSteps ? 'backward Euler' : 'trapezoidal');
        this.stepsTaken += 1;
      }
      out[frame] = this.outputVolts;
    }
    return out;
  }

  private newton(inputVolts: number, supply: number, rule: 'backward Euler' | 'trapezoidal' | null): void {
    const { size } = this;
    const base = this.linear.slice();
    const side = this.constant.map((value) => value * supply);
    if (this.inputBranch >= 0) side[this.inputBranch]! += inputVolts * supply;
    if (rule !== null) for (const memory of this.memories) this.stampMemory(memory, base, side, rule === 'trapezoidal' ? 2 : 1);
    for (let iteration = 0; iteration < mostIterations; iteration += 1) {
      const matrix = base.slice();
      const right = side.slice();
      for (const device of this.nonlinear) this.stampNonlinear(device, matrix, right);
      const next = solveDense(matrix, right, size);
      let scale = 1;
      for (const device of this.nonlinear) {
        for (const [plus, minus] of device.controls) {
          const move = Math.abs(at(next, plus) - at(next, minus) - this.across(plus, minus));
          if (move * scale > device.longestMove) scale = device.longestMove / move;
        }
      }
      let done = scale === 1;
      for (let k = 0; k < size; k += 1) {
        const move = scale * (next[k]! - this.w[k]!);
        if (!(Math.abs(move) <= this.smallestMove + 1e-12 * Math.abs(next[k]!))) done = false;
        this.w[k]! += move;
      }
      if (done) {
        if (rule !== null) for (const memory of this.memories) this.remember(memory, rule === 'trapezoidal' ? 2 : 1);
        return;
      }
    }
    throw new Error(`direct solution: no convergence at ${this.seconds} s`);
  }

  /** Capacitor: i = (order·C/h)(v − v0) − (order − 1) i0. Winding: v + (order − 1) v0 = (order/h) Σ L (j − j0). */
  private stampMemory(memory: Memory, matrix: Float64Array, side: Float64Array, order: number): void {
    const rate = order / this.stepSeconds;
    if (memory.kind === 'capacitor') {
      const siemens = rate * memory.farads;
      this.conductance(matrix, memory.a, memory.b, siemens);
      const history = siemens * memory.volts + (order - 1) * memory.amperes;
      if (memory.a >= 0) side[memory.a]! += history;
      if (memory.b >= 0) side[memory.b]! -= history;
      return;
    }
    side[memory.branch]! -= (order - 1) * memory.volts;
    for (const [branch, henries] of memory.henries) {
      this.addTo(matrix, memory.branch, branch, -rate * henries);
      side[memory.branch]! -= rate * henries * this.memories.find((other) => other.branch === branch)!.amperes;
    }
  }

  private remember(memory: Memory, order: number): void {
    const volts = this.across(memory.a, memory.b);
    memory.amperes = memory.kind === 'winding' ? this.w[memory.branch]!
      : (order * memory.farads / this.stepSeconds) * (volts - memory.volts) - (order - 1) * memory.amperes;
    memory.volts = volts;
  }

  private stampNonlinear(device: Nonlinear, matrix: Float64Array, side: Float64Array): void {
    const v = device.controls.map(([plus, minus]) => this.across(plus, minus));
    const present = device.current(v);
    let source = present;
    device.controls.forEach(([plus, minus], k) => {
      const h = 1e-6;
      const slope = (device.current(v.with(k, v[k]! + h)) - device.current(v.with(k, v[k]! - h))) / (2 * h);
      source -= slope * v[k]!;
      for (const [row, sign] of [[device.from, 1], [device.to, -1]] as const) {
        this.addTo(matrix, row, plus, sign * slope);
        this.addTo(matrix, row, minus, -sign * slope);
      }
    });
    if (device.from >= 0) side[device.from]! -= source;
    if (device.to >= 0) side[device.to]! += source;
  }

  private place(component: Component, branch: number, vt: number): void {
    const row = (node: string): number => this.rowOf(node);
    switch (component.kind) {
      case 'resistor':
        this.conductance(this.linear, row(component.between[0]), row(component.between[1]), 1 / component.ohms);
        return;
      case 'capacitor':
        this.addCapacitor(row(component.between[0]), row(component.between[1]), component.farads);
        return;
      case 'voltage-source':
        this.branch(branch, row(component.between[0]), row(component.between[1]));
        this.constant[branch] = component.volts;
        return;
      case 'input':
        this.branch(branch, row(component.between[0]), row(component.between[1]));
        this.constant[branch] = component.biasVolts;
        return;
      case 'current-source':
        if (row(component.from) >= 0) this.constant[row(component.from)]! -= component.amperes;
        if (row(component.to) >= 0) this.constant[row(component.to)]! += component.amperes;
        return;
      case 'amplifier':
        this.branch(branch, row(component.out[0]), row(component.out[1]));
        this.addTo(this.linear, branch, row(component.in[0]), -component.gain);
        this.addTo(this.linear, branch, row(component.in[1]), component.gain);
        return;
      case 'ideal-transformer':
        this.transformer(branch, component.primary, component.secondary, component.turnsRatio);
        return;
      case 'inductor':
        this.winding(branch, component.between, [[branch, component.henries]]);
        return;
      case 'coupled-inductors': {
        const { primaryHenries: first, secondaryHenries: second, coupling } = component;
        if (coupling === 1) {
          this.transformer(branch, component.primary, component.secondary, Math.sqrt(first / second));
          this.winding(branch + 1, component.primary, [[branch + 1, first]]);
          return;
        }
        const mutual = coupling * Math.sqrt(first * second);
        this.winding(branch, component.primary, [[branch, first], [branch + 1, mutual]]);
        this.winding(branch + 1, component.secondary, [[branch, mutual], [branch + 1, second]]);
        return;
      }
      case 'transconductor': {
        const [p, q, r, s] = [...component.out, ...component.in].map((name) => this.rowOf(name)) as [number, number, number, number];
        for (const [from, sign] of [[q, 1], [p, -1]] as const) {
          this.addTo(this.linear, from, r, sign * component.siemens);
          this.addTo(this.linear, from, s, -sign * component.siemens);
        }
        return;
      }
      default:
        this.nonlinear.push(...nonlinearCurrents(component, vt, row));
        if (component.kind === 'bipolar') this.placeBase(component);
    }
  }

  /** What of a transistor is linear: base resistance and junction capacitances. */
  private placeBase(component: Extract<Component, { kind: 'bipolar' }>): void {
    const base = this.rowOf(baseNode(component));
    if (component.baseOhms > 0) this.conductance(this.linear, this.rowOf(component.base), base, 1 / component.baseOhms);
    this.addCapacitor(base, this.rowOf(component.emitter), component.emitterCapacitanceFarads);
    this.addCapacitor(base, this.rowOf(component.collector), component.collectorCapacitanceFarads);
  }

  private addCapacitor(a: number, b: number, farads: number): void {
    if (farads > 0) this.memories.push({ kind: 'capacitor', a, b, branch: -1, farads, henries: [], volts: 0, amperes: 0 });
  }

  private winding(branch: number, between: readonly [string, string], henries: readonly (readonly [number, number])[]): void {
    const [a, b] = [this.rowOf(between[0]), this.rowOf(between[1])];
    this.branch(branch, a, b);
    this.memories.push({ kind: 'winding', a, b, branch, farads: 0, henries, volts: 0, amperes: 0 });
  }

  private transformer(branch: number, primary: readonly [string, string], secondary: readonly [string, string], ratio: number): void {
    this.branch(branch, this.rowOf(primary[0]), this.rowOf(primary[1]));
    for (const [node, sign] of [[secondary[0], -1], [secondary[1], 1]] as const) {
      this.addTo(this.linear, branch, this.rowOf(node), sign * ratio);
      this.addTo(this.linear, this.rowOf(node), branch, sign * ratio);
    }
  }

  private branch(branch: number, a: number, b: number): void {
    for (const [node, sign] of [[a, 1], [b, -1]] as const) {
      this.addTo(this.linear, branch, node, sign);
      this.addTo(this.linear, node, branch, sign);
    }
  }

  private conductance(matrix: Float64Array, a: number, b: number, siemens: number): void {
    this.addTo(matrix, a, a, siemens);
    this.addTo(matrix, b, b, siemens);
    this.addTo(matrix, a, b, -siemens);
    this.addTo(matrix, b, a, -siemens);
  }

  private addTo(matrix: Float64Array, row: number, column: number, value: number): void {
    if (row >= 0 && column >= 0) matrix[row * this.size + column]! += value;
  }

  private rowOf(node: string): number {
    if (node === 'ground') return -1;
    const known = this.nodes.indexOf(node);
    return known >= 0 ? known : this.nodes.push(node) - 1;
  }

  private across(a: number, b: number): number {
    return at(this.w, a) - at(this.w, b);
  }
}

function at(w: Float64Array, row: number): number {
  return row < 0 ? 0 : w[row]!;
}

function nodesOf(component: Component): string[] {
  const terminals = ['between', 'primary', 'secondary', 'out', 'in', 'inA', 'inB', 'from', 'to', 'anode', 'cathode', 'grid', 'collector', 'base', 'emitter', 'drain', 'gate', 'source'];
  const fields = component as unknown as Record<string, string | string[] | undefined>;
  return terminals.flatMap((terminal) => fields[terminal] ?? []);
}

/** Gauss's elimination with row exchanges. */
function solveDense(a: Float64Array, b: Float64Array, n: number): Float64Array {
  for (let k = 0; k < n; k += 1) {
    let best = k;
    for (let row = k + 1; row < n; row += 1) if (Math.abs(a[row * n + k]!) > Math.abs(a[best * n + k]!)) best = row;
    if (!(Math.abs(a[best * n + k]!) > 0)) throw new Error('direct solution: singular matrix');
    if (best !== k) {
      for (let j = k; j < n; j += 1) [a[k * n + j], a[best * n + j]] = [a[best * n + j]!, a[k * n + j]!];
      [b[k], b[best]] = [b[best]!, b[k]!];
    }
    for (let row = k + 1; row < n; row += 1) {
      const factor = a[row * n + k]! / a[k * n + k]!;
      if (factor === 0) continue;
      for (let j = k + 1; j < n; j += 1) a[row * n + j]! -= factor * a[k * n + j]!;
      b[row]! -= factor * b[k]!;
    }
  }
  for (let row = n - 1; row >= 0; row -= 1) {
    for (let j = row + 1; j < n; j += 1) b[row]! -= a[row * n + j]! * b[j]!;
    b[row]! /= a[row * n + row]!;
  }
  return b;
}
