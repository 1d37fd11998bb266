/**
 * The analogue prototypes of the sections, in s over the section's own frequency.
 *
 * Bell: H = (s² + s A/Q + 1)/(s² + s/(A Q) + 1), A = 10^(dB/40), Q between the points with half the decibels; the classic Q, 3 dB under the top of a boost, is that of its poles, A Q.
 * Second-order low shelf: H = A (s² + (√A/Q) s + A)/(A s² + (√A/Q) s + 1) with 1/Q² = (A + 1/A)(1/S − 1) + 2, S the steepness.
 * (R. Bristow-Johnson, "Audio EQ Cookbook", published as a W3C note 2021.)
 * First-order low shelf: H = (s + √g)/(s + 1/√g), g = 10^(dB/20): half the decibels at s = j.
 * Apart: H = (s² + (ωz/Qz) s + ωz²)/(s² + (ωp/Qp) s + ωp²), ωz/ωp = √g, ωz ωp = 1.
 * A high shelf is the low one in 1/s.
 */
import { decibelsToRatio } from '../../math/index.ts';
import type { StageValues } from '../contract.ts';
import { choiceOf, numberOf } from '../shared/values.ts';
import { complex, over, scaled, times } from './complex.ts';
import type { Complex } from './complex.ts';
import { idOf, largestQuality, proportionalAtDb, sectionCount } from './table.ts';

/** Coefficients of ascending powers of s; those of s² are 0 where the section is of first order. */
export interface Prototype {
  readonly hertz: number;
  readonly numerator: readonly [b0: number, b1: number, b2: number];
  readonly denominator: readonly [a0: number, a1: number, a2: number];
}

export interface Bell {
  readonly kind: 'bell';
  readonly number: number;
  readonly hertz: number;
  readonly db: number;
  /** Between the half-gain points. */
  readonly quality: number;
  /** Of poles (a boost) or zeros (a cut): 3 dB under the top. */
  readonly classicQuality: number;
}

export interface Shelf {
  readonly kind: 'low-shelf' | 'high-shelf';
  readonly number: number;
  readonly hertz: number;
  readonly db: number;
  readonly order: 'first' | 'second' | 'second-apart';
  /** Of a second-order shelf; both the same where there is a steepness. */
  readonly zeroQuality: number;
  readonly poleQuality: number;
}

/** A section that is not off, as the values mean it. */
export type Section = Bell | Shelf;

const leastQuality = 0.1;

function bellOf(values: StageValues, number: number): Bell {
  const db = numberOf(values, idOf(number, 'Db'));
  const asked = numberOf(values, idOf(number, 'Quality'));
  const share = choiceOf(values, idOf(number, 'QualityLaw')) === 'proportional' ? Math.abs(db) / proportionalAtDb : 1;
  const held = Math.max(leastQuality, Math.min(largestQuality, share * asked));
  const root = decibelsToRatio(Math.abs(db) / 2);
  const classic = choiceOf(values, idOf(number, 'QualityIs')) === 'three-decibel';
  return { kind: 'bell', number, hertz: numberOf(values, idOf(number, 'Hz')), db, quality: classic ? held / root : held, classicQuality: classic ? held : held * root };
}

/** Q of a shelf's pole and zero from its steepness. */
export function shelfQuality(db: number, steepness: number): number {
  const root = decibelsToRatio(db / 2);
  return 1 / Math.sqrt((root + 1 / root) * (1 / steepness - 1) + 2);
}

function shelfOf(values: StageValues, number: number, kind: Shelf['kind']): Shelf {
  const db = numberOf(values, idOf(number, 'Db'));
  const order = choiceOf(values, idOf(number, 'Order')) as Shelf['order'];
  const both = order === 'second' ? shelfQuality(db, numberOf(values, idOf(number, 'Steepness'))) : null;
  return {
    kind, number, hertz: numberOf(values, idOf(number, 'Hz')), db, order,
    zeroQuality: both ?? numberOf(values, idOf(number, 'ZeroQ')), poleQuality: both ?? numberOf(values, idOf(number, 'PoleQ')),
  };
}

/** The sections that are not off, in their order. */
export function sectionsOf(values: StageValues): readonly Section[] {
  return Array.from({ length: sectionCount }, (_, index) => index + 1).flatMap((number): Section[] => {
    const kind = choiceOf(values, idOf(number, 'Kind'));
    if (kind === 'off') return [];
    return [kind === 'bell' ? bellOf(values, number) : shelfOf(values, number, kind as Shelf['kind'])];
  });
}

export function prototypeOf(section: Section): Prototype {
  const { hertz, db } = section;
  if (section.kind === 'bell') {
    const root = decibelsToRatio(db / 2);
    return { hertz, numerator: [1, root / section.quality, 1], denominator: [1, 1 / (root * section.quality), 1] };
  }
  const low = lowShelf(section);
  if (section.kind === 'low-shelf') return { hertz, ...low };
  const turned = ([c0, c1, c2]: readonly [number, number, number]): [number, number, number] => (section.order === 'first' ? [c1, c0, 0] : [c2, c1, c0]);
  return { hertz, numerator: turned(low.numerator), denominator: turned(low.denominator) };
}

function lowShelf({ db, order, zeroQuality, poleQuality }: Shelf): Pick<Prototype, 'numerator' | 'denominator'> {
  // ωz² = √g and ωp² = 1/√g in second order; in first order they are the corners themselves.
  const root = decibelsToRatio(db / 2);
  if (order === 'first') return { numerator: [root, 1, 0], denominator: [1 / root, 1, 0] };
  const corner = Math.sqrt(root);
  return { numerator: [root, corner / zeroQuality, 1], denominator: [1 / root, 1 / (corner * poleQuality), 1] };
}

/** H(j f/f0). */
export function prototypeTransfer({ hertz, numerator, denominator }: Prototype, hz: number): Complex {
  const x = hz / hertz;
  return over(complex(numerator[0] - numerator[2] * x * x, numerator[1] * x), complex(denominator[0] - denominator[2] * x * x, denominator[1] * x));
}

/** All sections and the gain behind them. */
export function analogueTransfer(values: StageValues, frequenciesHz: readonly number[]): readonly Complex[] {
  const prototypes = sectionsOf(values).map(prototypeOf);
  const gain = decibelsToRatio(numberOf(values, 'makeUpDb'));
  return frequenciesHz.map((hz) => scaled(prototypes.reduce((product, prototype) => times(product, prototypeTransfer(prototype, hz)), complex(1)), gain));
}

/** The roots of c2 s² + c1 s + c0 (or of c1 s + c0) as −s, right half plane: one, a pair of conjugates given by its upper one, or two real ones. */
export function mirroredRoots([c0, c1, c2]: readonly [number, number, number]): readonly Complex[] {
  if (c2 === 0) return [complex(c0 / c1)];
  const half = c1 / (2 * c2);
  const square = c0 / c2;
  const beside = half * half - square;
  if (beside < 0) return [{ re: half, im: Math.sqrt(-beside) }];
  const larger = half + Math.sqrt(beside);
  return [complex(larger), complex(square / larger)];
}

