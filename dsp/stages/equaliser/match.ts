/** From an analogue prototype to sections that have its magnitude at the internal rate: its roots in W = Ω² through the inverse of the frequency map. */
import { complex, minus, polynomialRoots, scaled, sizeOf, squareRoot, times } from './complex.ts';
import type { Complex } from './complex.ts';
import type { FrequencyMap } from './frequency-map.ts';
import { mirroredRoots } from './prototype.ts';
import type { Prototype } from './prototype.ts';
import type { AnalogueSection } from './section.ts';

/** s² + c1 s + c0, roots to the left. */
interface Quadratic {
  readonly c0: number;
  readonly c1: number;
}

/** Where R(φ) = W, one root a branch, by rising real part. W real and negative gives real ones, W above the real axis roots above it. */
function branches({ order, p, q }: FrequencyMap, w: Complex): Complex[] {
  const coefficients = Array.from({ length: order + 1 }, (_, k) => minus(complex(k === 0 ? 0 : p[k - 1]!), scaled(w, q[k]!)));
  // One root near W/4, as the map begins; the others beyond φ = 1.
  const starts = Array.from({ length: order }, (_, k) => (k === 0 ? scaled(w, 1 / (4 + sizeOf(w))) : { re: 1 + 0.5 * k, im: 0.3 + 0.1 * k }));
  const first = starts[0]!;
  const roots = order === 1 ? [quotient(coefficients)] : polynomialRoots(coefficients, [{ re: first.re, im: first.im + 0.01 * sizeOf(first) }, ...starts.slice(1)]);
  const clean = w.im === 0 ? roots.map(({ re }) => complex(re)) : roots;
  return clean.sort((a, b) => a.re - b.re);
}

/** The root of c0 + c1 x. */
function quotient([c0, c1]: readonly Complex[]): Complex {
  const square = c1!.re * c1!.re + c1!.im * c1!.im;
  return scaled(times(c0!, { re: c1!.re, im: -c1!.im }), -1 / square);
}

/** φ as a mirrored root of the bilinear transform's s: −s² = tan²(ω/2) = φ/(1 − φ). */
function toBilinear(phi: Complex): Complex {
  const under = { re: phi.re - 1, im: phi.im };
  const square = under.re * under.re + under.im * under.im;
  return squareRoot(scaled(times(phi, { re: under.re, im: -under.im }), 1 / square));
}

/** The polynomial's roots by branch. `single`: what a branch of first order takes for its second root. */
function quadratics(map: FrequencyMap, prototype: Prototype, coefficients: readonly [number, number, number], rateHz: number, single: readonly number[]): readonly Quadratic[] {
  const omega = (2 * Math.PI * prototype.hertz) / rateHz;
  const [first, second] = mirroredRoots(coefficients).map((root) => {
    // W = Ω² = −s²; the upper of two conjugates.
    const square = times(root, root);
    return branches(map, { re: -omega * omega * square.re, im: omega * omega * square.im }).map(toBilinear);
  });
  return first!.map((root, branch): Quadratic => {
    if (root.im !== 0) return { c0: root.re * root.re + root.im * root.im, c1: 2 * root.re };
    const other = second === undefined ? single[branch]! : second[branch]!.re;
    return { c0: root.re * other, c1: root.re + other };
  });
}

/**
 * As many sections as the map's order. The gain at 0 Hz is exact; elsewhere in the band the magnitude is off by at most the prototype's slope times the map's error.
 * A first-order prototype gets sections whose second pole and zero are the same.
 */
export function matchedSections(map: FrequencyMap, prototype: Prototype, rateHz: number): readonly AnalogueSection[] {
  const { numerator, denominator } = prototype;
  const firstOrder = denominator[2] === 0;
  const single = firstOrder ? quadratics(map, prototype, denominator, rateHz, new Array<number>(map.order).fill(1)).map(({ c0 }) => c0) : [];
  const poles = quadratics(map, prototype, denominator, rateHz, single);
  const zeros = quadratics(map, prototype, numerator, rateHz, single);
  return poles.map(({ c0, c1 }, branch): AnalogueSection => {
    const zero = zeros[branch]!;
    // Unity at s = 0 in every branch, and the prototype's gain there in the first.
    const gain = (branch === 0 ? numerator[0] / denominator[0] : 1) * (c0 / zero.c0);
    return { numerator: [gain * zero.c0, gain * zero.c1, gain], denominator: [c0, c1] };
  });
}
