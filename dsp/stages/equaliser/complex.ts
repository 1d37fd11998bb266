/** Complex numbers where the equaliser is designed. */
import type { Transfer } from '../contract.ts';

export type Complex = Transfer;

export const complex = (re: number, im = 0): Complex => ({ re, im });
export const plus = (a: Complex, b: Complex): Complex => ({ re: a.re + b.re, im: a.im + b.im });
export const minus = (a: Complex, b: Complex): Complex => ({ re: a.re - b.re, im: a.im - b.im });
export const times = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
export const scaled = (a: Complex, by: number): Complex => ({ re: by * a.re, im: by * a.im });
export const sizeOf = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);

/** b ≠ 0. */
export function over(a: Complex, b: Complex): Complex {
  const square = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / square, im: (a.im * b.re - a.re * b.im) / square };
}

/** The root with real part ≥ 0, each part to its own last digits: the smaller comes from the larger by the product re · im = Im(a)/2. */
export function squareRoot(a: Complex): Complex {
  const size = sizeOf(a);
  if (size === 0) return complex(0);
  const larger = Math.sqrt((size + Math.abs(a.re)) / 2);
  const smaller = a.im / (2 * larger);
  if (a.re >= 0) return { re: larger, im: smaller };
  return { re: Math.abs(smaller), im: a.im < 0 ? -larger : larger };
}

/** Σ coefficients[k] x^k. */
export function polynomialAt(coefficients: readonly Complex[], x: Complex): Complex {
  let sum = complex(0);
  for (let k = coefficients.length - 1; k >= 0; k -= 1) sum = plus(times(sum, x), coefficients[k]!);
  return sum;
}

const mostRounds = 200;

/**
 * All roots of Σ coefficients[k] x^k (two or more, the last not 0), by improving all at once from `starts`, one each and no two alike, to the last digits.
 * Source: E. Durand 1960, I. O. Kerner, "Ein Gesamtschrittverfahren zur Berechnung der Nullstellen von Polynomen", Numer. Math. 8, 1966, from memory.
 */
export function polynomialRoots(coefficients: readonly Complex[], starts: readonly Complex[]): Complex[] {
  const leading = coefficients[coefficients.length - 1]!;
  const monic = coefficients.map((coefficient) => over(coefficient, leading));
  const roots = [...starts];
  for (let round = 0; round < mostRounds; round += 1) {
    let moved = 0;
    for (let k = 0; k < roots.length; k += 1) {
      const root = roots[k]!;
      let rest = complex(1);
      for (let j = 0; j < roots.length; j += 1) if (j !== k) rest = times(rest, minus(root, roots[j]!));
      const step = over(polynomialAt(monic, root), rest);
      roots[k] = minus(root, step);
      moved = Math.max(moved, sizeOf(step) / sizeOf(root));
    }
    if (!(moved > 4e-16)) break;
  }
  return roots;
}
