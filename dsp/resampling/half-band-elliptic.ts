// Two-path all-pass half-band filters: steepest for their number of multipliers, least delay, phase not linear.
import { cos, log10, power, sin } from '../math/index.ts';

/** H(z) = (P1(z²) + z⁻¹ P2(z²))/2, each P a product of (α + z⁻¹)/(1 + α z⁻¹). */
export interface AllPassHalfBand {
  /** All coefficients, ascending; P1 takes the 1st, 3rd, …, P2 the 2nd, 4th, … */
  readonly coefficients: Float64Array;
  readonly attenuationDb: number;
}

/**
 * The elliptic half-band with n coefficients (order 2n + 1). `passEdge` as a fraction of the sample rate, 0 … 0.25 exclusive;
 * the stop band starts at 0.5 − passEdge. The pass band loses 10 log10(1 + 10^(−attenuation/10)) dB at most, since
 * |H(ω)|² + |H(π − ω)|² = 1. Design time only: it allocates. Throws outside the domain.
 * Source: R. A. Valenzuela, A. G. Constantinides, IEE Proc. G 130(6), 1983; L. Gazsi, IEEE Trans. CAS 32(1), 1985.
 */
export function ellipticHalfBand(n: number, passEdge: number): AllPassHalfBand {
  if (!(passEdge > 0 && passEdge < 0.25)) throw new Error(`half-band filter: expected a pass-band edge between 0 and 0.25 of the rate, got ${passEdge}`);
  if (!(Number.isInteger(n) && n >= 1)) throw new Error(`half-band filter: expected a whole number of coefficients ≥ 1, got ${n}`);
  const tangent = sin(Math.PI * passEdge) / cos(Math.PI * passEdge);
  const k = tangent * tangent;
  const root = Math.sqrt(Math.sqrt((1 - k) * (1 + k)));
  const e = (1 - root) / (2 * (1 + root));
  const e4 = e * e * e * e;
  const nome = e * (1 + e4 * (2 + e4 * (15 + e4 * 150)));
  const order = 2 * n + 1;
  const coefficients = Float64Array.from({ length: n }, (_, i) => {
    const w = ellipticSine(nome, (i + 1) / order);
    const v = Math.sqrt((1 - k * w * w) * (1 - w * w / k));
    return (1 + w * w - v) / (1 + w * w + v);
  });
  return { coefficients, attenuationDb: attenuation(nome, order) };
}

/** The elliptic half-band with the fewest coefficients that reaches an attenuation. */
export function smallestAllPassHalfBand(attenuationDb: number, passEdge: number): AllPassHalfBand {
  for (let n = 1; ; n++) {
    const design = ellipticHalfBand(n, passEdge);
    if (design.attenuationDb >= attenuationDb) return design;
  }
}

/** 2 q^¼ Σ (−1)^m q^(m(m+1)) sin((2m+1) πf) / (1 + 2 Σ (−1)^m q^(m²) cos(2mπf)): a quotient of theta functions. */
function ellipticSine(nome: number, fraction: number): number {
  let numerator = 0;
  let denominator = 1;
  let upper = 1;
  let lower = nome;
  for (let m = 0; m < 20; m++) {
    const sign = m % 2 === 0 ? 1 : -1;
    numerator += sign * upper * sin((2 * m + 1) * Math.PI * fraction);
    denominator -= sign * 2 * lower * cos(2 * (m + 1) * Math.PI * fraction);
    // q^(m(m+1)) grows by q^(2(m+1)), q^(m²) by q^(2m+1).
    let step = 1;
    for (let i = 0; i < 2 * (m + 1); i++) step *= nome;
    upper *= step;
    lower *= step * nome;
  }
  return 2 * Math.sqrt(Math.sqrt(nome)) * numerator / denominator;
}

/** 10 log10(1 + 1/k1), k1 the modulus of nome q^order: k1 = 4 √Q (Π (1 + Q^2j)/(1 + Q^(2j−1)))⁴. */
function attenuation(nome: number, order: number): number {
  const q = power(nome, order);
  const ratio = (1 + q * q) / (1 + q);
  const k1 = 4 * Math.sqrt(q) * ratio * ratio * ratio * ratio;
  return 10 * log10(1 + 1 / k1);
}
