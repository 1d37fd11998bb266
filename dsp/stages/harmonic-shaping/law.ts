/**
 * The static law of harmonic shaping and what follows from it.
 *
 * Polynomial law, with a = x / A0 and A0 the peak at the reference level:  y = x + A0 [2 h2 a² + 4 h3 a³]. A cosine of peak A0 gets h2 and h3 as second and third
 * harmonic while its own amplitude becomes 1 + 3 h3: the small-signal gain is one. An amount asked for relative to that fundamental, r = h / (1 + 3 h3),
 * gives h3 = r3 / (1 − 3 r3) and h2 = r2 (1 + 3 h3). (T2 and T3: Abramowitz, Stegun 1964, table 22.3; the plain cubic instead of T3 keeps the gain.)
 */
import { decibelsToRatio, tanh } from '../../math/index.ts';
import type { StageValues } from '../contract.ts';
import { dbuToPeakVolts } from '../shared/levels.ts';
import { choiceOf, numberOf } from '../shared/values.ts';

/** Level up to which a law must rise throughout: full scale at the default calibration. */
export const headroomDbu = 24;

/** The law in volts. */
export interface ShapingLaw {
  readonly held: boolean;
  readonly referencePeakVolts: number;
  /** Signed harmonic amplitudes at the reference level, relative to an undistorted cosine. */
  readonly second: number;
  readonly third: number;
  /** Up to here the branch follows the law exactly … */
  readonly ceilingVolts: number;
  /** … and this much further it comes at most. */
  readonly kneeVolts: number;
  /** Of the held law: envelope below which the amounts fall. */
  readonly floorVolts: number;
}

function signedAmount(values: StageValues, sign: string, amount: string): number {
  const direction = choiceOf(values, sign);
  if (direction === 'off') return 0;
  const ratio = decibelsToRatio(numberOf(values, amount));
  return direction === 'negative' ? -ratio : ratio;
}

export function lawOf(values: StageValues): ShapingLaw {
  const held = choiceOf(values, 'law') === 'held';
  const second = signedAmount(values, 'secondSign', 'secondDb');
  const third = signedAmount(values, 'thirdSign', 'thirdDb');
  const cubic = third / (1 - 3 * third);
  const ceilingVolts = dbuToPeakVolts(numberOf(values, 'ceilingDbu'));
  return {
    held,
    referencePeakVolts: dbuToPeakVolts(numberOf(values, 'referenceDbu')),
    second: held ? second : second * (1 + 3 * cubic),
    third: held ? third : cubic,
    ceilingVolts,
    kneeVolts: ceilingVolts / 2,
    floorVolts: dbuToPeakVolts(numberOf(values, 'heldDownToDbu')),
  };
}

/** x up to the ceiling, then c + w tanh((x − c)/w): slope and curvature are continuous. Odd. Audio thread: allocates nothing. */
export function saturate(x: number, ceilingVolts: number, kneeVolts: number): number {
  if (x > ceilingVolts) return ceilingVolts + kneeVolts * tanh((x - ceilingVolts) / kneeVolts);
  if (x < -ceilingVolts) return -ceilingVolts + kneeVolts * tanh((x + ceilingVolts) / kneeVolts);
  return x;
}

/** Output of the polynomial law at rest frequency, DC of the square not yet blocked, V. */
export function staticOutput(law: ShapingLaw, x: number): number {
  const s = saturate(x, law.ceilingVolts, law.kneeVolts);
  const a = s / law.referencePeakVolts;
  return x + law.referencePeakVolts * (2 * law.second + 4 * law.third * a) * a * a;
}

/** Smallest |x| in volts at which the law without its ceiling turns over (1 + 4 h2 a + 12 h3 a² = 0); null: it never does. The held law: null. */
export function turnoverVolts(law: ShapingLaw): number | null {
  if (law.held) return null;
  const { second, third } = law;
  if (third === 0) return second === 0 ? null : law.referencePeakVolts / (4 * Math.abs(second));
  const discriminant = 16 * second * second - 48 * third;
  if (discriminant < 0) return null;
  // The root of smaller size, without cancellation: 2 / (|4 h2| + √…) is the reciprocal form.
  return (2 * law.referencePeakVolts) / (4 * Math.abs(second) + Math.sqrt(discriminant));
}

/** Where the law with its ceiling first stops rising inside the headroom. */
export interface Fold {
  readonly volts: number;
  readonly slope: number;
}

const foldSteps = 2048;

/**
 * Looks along both signs from 0 to the headroom; null: the law rises throughout. The held law is judged over one period at a constant envelope: it is
 * the same at every level, so `volts` is then that of the reference level.
 */
export function findFold(law: ShapingLaw): Fold | null {
  if (law.held) {
    // Slope 1 + 4 h2 a + h3 (12 a² − 3) on −1 … 1: least at an end or at the vertex.
    const { second, third } = law;
    const vertex = third === 0 ? 0 : Math.max(-1, Math.min(1, -second / (6 * third)));
    let slope = Infinity;
    for (const a of [-1, vertex, 1]) slope = Math.min(slope, 1 + 4 * second * a + third * (12 * a * a - 3));
    return slope > 0 ? null : { volts: law.referencePeakVolts, slope };
  }
  const step = dbuToPeakVolts(headroomDbu) / foldSteps;
  let up = 0;
  let down = 0;
  for (let k = 1; k <= foldSteps; k += 1) {
    const nextUp = staticOutput(law, k * step);
    const nextDown = -staticOutput(law, -k * step);
    const slope = Math.min(nextUp - up, nextDown - down) / step;
    if (!(slope > 0)) return { volts: k * step, slope };
    up = nextUp;
    down = nextDown;
  }
  return null;
}
