import { degreesOf } from '../../attribution.ts';

/** "−93°" of a vector. */
export function degrees(re: number, im: number): string {
  const whole = Math.round(degreesOf(re, im));
  return `${whole < 0 ? '−' : ''}${Math.abs(whole)}°`;
}
