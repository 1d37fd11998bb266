// The principal branch of the Lambert function: the w ≥ −1 with w e^w = x.
import { log } from './log.ts';

const MINUS_INVERSE_E = -0.36787944117144233;
// e in two parts, so that e x + 1 keeps its digits beside the branch point.
const E_HIGH = 2.71828182845904509e0;
const E_LOW = 1.4456468917292502e-16;

/**
 * W0(x). Error ≤ 4 ulp for x ≥ −0.25; for smaller x ≤ 4 + 4/(1 + W) ulp (the equation itself loses digits towards the
 * branch point), and ≤ 4 ulp again within 7e-5 of it.
 *
 * x < −1/e, NaN → NaN; ±0 → ±0; +∞ → +∞; the double nearest to −1/e → −1. Allocates nothing.
 * Source: R. M. Corless et al., On the Lambert W Function, 1996 (series at the branch point, asymptotic start);
 * F. N. Fritsch, R. E. Shafer, W. P. Crowley, Algorithm 443, 1973 (the fourth-order step).
 */
export function lambertW0(x: number): number {
  if (x === 0 || x === Infinity) return x;
  if (!(x >= MINUS_INVERSE_E)) return NaN;
  if (x < -0.25) {
    const p = Math.sqrt(2 * branchDistance(x));
    if (p < 0.02) return branchSeries(p);
    return refine(x, branchSeries(p), 3);
  }
  if (x < 1) return refine(x, x * (1 + x * 1.4) / (1 + x * (2.4 + 0.9 * x)), 3);
  const first = log(x);
  if (first < 1) return refine(x, 0.567 + 0.36 * first, 3);
  const second = log(first);
  return refine(x, first - second + second / first, 3);
}

/** 1 + e x without cancellation error: the product is taken exactly, by splitting. */
function branchDistance(x: number): number {
  const bigX = x * 134217729;
  const highX = bigX - (bigX - x);
  const lowX = x - highX;
  const bigE = E_HIGH * 134217729;
  const highE = bigE - (bigE - E_HIGH);
  const lowE = E_HIGH - highE;
  const product = x * E_HIGH;
  const lost = highX * highE - product + highX * lowE + lowX * highE + lowX * lowE;
  const distance = 1 + product + (lost + x * E_LOW);
  return distance > 0 ? distance : 0;
}

function branchSeries(p: number): number {
  return -1 + p * (1 + p * (-1 / 3 + p * (11 / 72 + p * (-43 / 540 + p * (769 / 17280 + p * (-221 / 8505
    + p * (680863 / 43545600 + p * (-1963 / 204120 + p * (226287557 / 37623398400)))))))));
}

function refine(x: number, start: number, steps: number): number {
  let w = start;
  for (let step = 0; step < steps; step++) {
    const z = log(x / w) - w;
    const onePlus = 1 + w;
    const q = 2 * onePlus * (onePlus + (2 / 3) * z);
    w += w * ((z / onePlus) * ((q - z) / (q - 2 * z)));
  }
  return w;
}
