/**
 * Loop gain of a feedback circuit, exactly as it is wired: nothing is opened, nothing is unloaded. A voltage in series and a current in parallel are
 * injected at one point of the loop and what the rest answers is told apart by two solutions (double injection: Middlebrook 1975; in the form that counts
 * both directions of a loop: Tian, Visvanathan, Hantgan, Kundert, "Striving for small-signal stability", 2001; from memory). Not for the audio thread.
 */
import { atan2, exp, log, log10, power } from '../math/index.ts';
import type { CircuitDocument, Component, NodePair } from './components.ts';
import { CircuitError } from './document-errors.ts';
import { smallSignals } from './exact-response.ts';
import type { Complex } from './exact-response.ts';
import type { OperatingPoint } from './operating-point.ts';
import type { CircuitSystem } from './system.ts';

/** Name of the source that `withLoopProbe` puts in. */
export const loopProbeName = 'loop probe';

/**
 * The document with a source of 0 V, a wire, put between `node` and that end of the two-terminal component `name` which is wired to it: a place where a
 * loop is looked at. Throws `CircuitError` where there is no such end.
 */
export function withLoopProbe(document: CircuitDocument, name: string, node: string): CircuitDocument {
  const component = document.components.find((candidate) => candidate.name === name);
  if (component === undefined || !('between' in component)) throw new CircuitError(`expected a two-terminal component for a loop probe, got "${name}"`);
  const end = component.between.indexOf(node);
  if (end < 0) throw new CircuitError(`${name}: expected an end at node "${node}" for a loop probe, got ${component.between.join(' and ')}`);
  const inner = `${loopProbeName} ${name}`;
  const between: NodePair = end === 0 ? [inner, component.between[1]] : [component.between[0], inner];
  const probe: Component = { kind: 'voltage-source', name: loopProbeName, between: [node, inner], volts: 0 };
  return { ...document, components: [...document.components.map((each) => (each === component ? { ...component, between } : each)), probe] };
}

/**
 * Loop gain at each frequency in Hz, with the sign of negative feedback: positive and real where feedback subtracts in full, −1 where the circuit would
 * sustain itself. `probe` names a voltage source of the circuit, in series with a branch that the loop passes through. With the two-port admittances y that
 * the circuit shows to the two ends p and m of the probe it is T = (y_pm + y_mp)/(y_pp + y_mm), so 1 + T = 0 is the circuit's characteristic equation.
 */
export function loopGain(system: CircuitSystem, point: OperatingPoint, probe: string, frequenciesHz: ArrayLike<number>): Complex[] {
  const at = loopGainOf(system, point, probe);
  return Array.from(frequenciesHz, at);
}

/** The same as a function of frequency. */
export function loopGainOf(system: CircuitSystem, point: OperatingPoint, probe: string): (hz: number) => Complex {
  const branch = branchOf(system, probe);
  const [p, m] = endsOf(system, branch);
  const at = smallSignals(system, point);
  return (hz) => {
    const solve = at(hz);
    const current = solve((sides) => {
      sides[m] = 1;
    });
    const voltage = solve((sides) => {
      sides[branch] = 1;
    });
    // One ampere into both ends: v there, ja through the probe. One volt between them: vp at p, jb through the probe. In y: ja = −(y_pp + y_pm) v and
    // jb = −(y_pp vp + y_pm (vp − 1)), and the same at m; numerator and denominator are multiplied by v, which is 0 where an ideal source drives the loop.
    const v = current(m);
    const ja = current(branch);
    const vp = voltage(p);
    const both = subtract(multiply(ja, vp), multiply(voltage(branch), v));
    const twice = add(both, both);
    const numerator = subtract(subtract(add({ re: 1, im: 0 }, ja), vp), twice);
    const denominator = add(subtract(vp, ja), twice);
    return divide(numerator, denominator);
  };
}

/** Where a loop's gain falls through 1. */
export interface LoopCrossing {
  readonly hz: number;
  /** Degrees that the phase is short of −180; negative: the circuit oscillates. */
  readonly marginDegrees: number;
}

const pointsPerDecade = 8;
const refinements = 30;
/** Of the logarithm of the frequency. */
const refinement = 1e-7;

/**
 * The crossing with the least phase margin between the two frequencies; null where the gain never falls through 1 there. The phase is followed from the
 * lowest frequency (where it is taken within ±180°), so that a lag of more than 180° reads as a negative margin.
 */
export function phaseMargin(gain: (hz: number) => Complex, lowestHz: number, highestHz: number): LoopCrossing | null {
  const decades = log10(highestHz / lowestHz);
  const count = Math.max(2, Math.ceil(decades * pointsPerDecade));
  const step = power(highestHz / lowestHz, 1 / count);
  let least: LoopCrossing | null = null;
  let hz = lowestHz;
  let here = gain(hz);
  let phase = degreesOf(here);
  for (let k = 0; k < count; k += 1) {
    const nextHz = hz * step;
    const next = gain(nextHz);
    if (sizeOf(here) >= 1 && sizeOf(next) < 1) {
      const crossing = crossingBetween(gain, hz, nextHz);
      const margin = 180 + phase + turn(here, gain(crossing));
      if (least === null || margin < least.marginDegrees) least = { hz: crossing, marginDegrees: margin };
    }
    phase += turn(here, next);
    here = next;
    hz = nextHz;
  }
  return least;
}

/** Regula falsi on the logarithms of gain and frequency, where a loop is nearly straight; Illinois variant. */
function crossingBetween(gain: (hz: number) => Complex, low: number, high: number): number {
  const height = (x: number): number => log(sizeOf(gain(exp(x))));
  let [a, b] = [log(low), log(high)];
  let [atA, atB] = [height(a), height(b)];
  for (let k = 0; k < refinements && Math.abs(b - a) > refinement; k += 1) {
    const x = b - (atB * (b - a)) / (atB - atA);
    const atX = height(x);
    if (atX * atB <= 0) [a, atA] = [b, atB];
    else atA /= 2;
    if (Math.abs(x - b) <= refinement) return exp(x);
    [b, atB] = [x, atX];
  }
  return exp(b);
}

const degreesPerRadian = 180 / Math.PI;
const add = (a: Complex, b: Complex): Complex => ({ re: a.re + b.re, im: a.im + b.im });
const subtract = (a: Complex, b: Complex): Complex => ({ re: a.re - b.re, im: a.im - b.im });
const multiply = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });

function divide(a: Complex, b: Complex): Complex {
  const square = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / square, im: (a.im * b.re - a.re * b.im) / square };
}

const sizeOf = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);
const degreesOf = ({ re, im }: Complex): number => degreesPerRadian * atan2(im, re);

/** Degrees from the phase of `a` to that of `b`, within ±180. */
const turn = (a: Complex, b: Complex): number => degreesOf(divide(b, a));

function branchOf(system: CircuitSystem, probe: string): number {
  const at = system.branchNames.indexOf(probe);
  if (at < 0) throw new CircuitError(`expected a voltage source "${probe}" as a loop probe, got none of this name`);
  return system.nodeNames.length + at;
}

/** Rows of the nodes at a source's two ends, from its row: v(plus) − v(minus). */
function endsOf(system: CircuitSystem, branch: number): readonly [plus: number, minus: number] {
  const { matrix } = system.stamp({ kind: 'direct-current' });
  const row = matrix.subarray(branch * system.size, branch * system.size + system.nodeNames.length);
  const ends = [row.indexOf(1), row.indexOf(-1)] as const;
  if (ends[0] < 0 || ends[1] < 0) throw new CircuitError('expected a loop probe between two nodes, got one with an end at ground');
  return ends;
}
