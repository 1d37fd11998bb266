/** Complex arithmetic for formulas of ideal networks. */
import type { Complex } from '../../circuit/index.ts';

export const complex = (re: number, im = 0): Complex => ({ re, im });
export const added = (a: Complex, b: Complex): Complex => ({ re: a.re + b.re, im: a.im + b.im });
export const subtracted = (a: Complex, b: Complex): Complex => ({ re: a.re - b.re, im: a.im - b.im });
export const scaled = (a: Complex, factor: number): Complex => ({ re: a.re * factor, im: a.im * factor });
export const multiplied = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
/** b must not be 0. */
export function divided(a: Complex, b: Complex): Complex {
  const square = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / square, im: (a.im * b.re - a.re * b.im) / square };
}
export const magnitude = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);
