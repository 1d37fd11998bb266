/** Parameters of the equaliser: the same ten for each section, then the gain behind all. */
import type { ChoiceParameter, NumberParameter, Parameter, StageValues } from '../contract.ts';
import { frequency, gain, makeUp } from '../shared/parameters.ts';
import { choiceOf } from '../shared/values.ts';

export const sectionCount = 6;
/** Largest boost or cut of a section. */
export const largestDb = 18;
export const largestQuality = 30;
/** Amount at which an amount-proportional bell has the Q asked for. */
export const proportionalAtDb = 12;

/** What a section is before anybody turns anything. */
interface Start {
  readonly kind: 'off' | 'low-shelf' | 'high-shelf' | 'bell';
  readonly hertz: number;
  readonly db: number;
  readonly steepness: number;
  readonly quality: number;
}

/**
 * A bell of fairly high Q near 2 kHz brings one plucked or reed instrument forward, and a shelf wants 3 to 3.5 dB an octave with a small undershoot at its foot (both common practice,
 * no source): gentle ones of each to begin with.
 */
const starts: readonly Start[] = [
  { kind: 'bell', hertz: 2000, db: 2, steepness: 1, quality: 4 },
  { kind: 'high-shelf', hertz: 6000, db: 3, steepness: 1.46, quality: 1 },
  { kind: 'off', hertz: 100, db: 0, steepness: 1, quality: 1 },
  { kind: 'off', hertz: 300, db: 0, steepness: 1, quality: 2 },
  { kind: 'off', hertz: 1000, db: 0, steepness: 1, quality: 2 },
  { kind: 'off', hertz: 5000, db: 0, steepness: 1, quality: 2 },
];

const kinds = [{ id: 'off', label: 'off' }, { id: 'low-shelf', label: 'low shelf' }, { id: 'high-shelf', label: 'high shelf' }, { id: 'bell', label: 'bell' }];

function choice(n: number, part: Pick<ChoiceParameter, 'id' | 'label' | 'shortLabel' | 'help' | 'options' | 'default'>): ChoiceParameter {
  return { ...part, kind: 'choice', id: idOf(n, part.id), label: `section ${n}, ${part.label}`, shortLabel: `${n} ${part.shortLabel}`, spokenLabel: `section ${n}, ${part.label}` };
}

function quality(n: number, part: { id: string; label: string; shortLabel: string; help: string; range: readonly [number, number]; default: number }): NumberParameter {
  return {
    kind: 'number', quantity: 'quality', unit: '', taper: 'logarithmic', step: 0.1, id: idOf(n, part.id), label: `section ${n}, ${part.label}`, shortLabel: `${n} ${part.shortLabel}`,
    spokenLabel: `section ${n}, ${part.label}`, help: part.help, minimum: part.range[0], maximum: part.range[1], default: part.default,
  };
}

/** "section2Hz" */
export const idOf = (n: number, part: string): string => `section${n}${part}`;

function sectionParameters(start: Start, n: number): readonly Parameter[] {
  const named = (label: string, shortLabel: string): { label: string; shortLabel: string } => ({ label: `section ${n}, ${label}`, shortLabel: `${n} ${shortLabel}` });
  return [
    choice(n, { id: 'Kind', label: 'kind', shortLabel: 'kind', options: kinds, default: start.kind, help: 'Off, a shelf at either end of the band, or a bell round a centre.' }),
    frequency({
      ...named('frequency', 'frequency'), id: idOf(n, 'Hz'), range: [20, 20e3], default: start.hertz,
      help: 'Centre of a bell; of a shelf the turnover frequency, where it has half its decibels (with separate Qs, the geometric mean of pole and zero).',
    }),
    gain({
      ...named('amount', 'amount'), id: idOf(n, 'Db'), range: [-largestDb, largestDb], default: start.db,
      help: 'Gain at the centre of a bell, or far along a shelf; negative cuts.',
    }),
    choice(n, {
      id: 'Order', label: 'order of the shelf', shortLabel: 'order', default: 'second',
      options: [{ id: 'first', label: 'first' }, { id: 'second', label: 'second' }, { id: 'second-apart', label: 'second, zero and pole apart' }],
      help: 'First: one pole, a broad tilt. Second: steeper, by one steepness for pole and zero. Apart: a Q for each, for an undershoot at the foot without an overshoot.',
    }),
    quality(n, {
      id: 'Steepness', label: 'steepness', shortLabel: 'steepness', range: [0.1, 2.5], default: start.steepness,
      help: 'Of a second-order shelf: slope at turnover, 1 is twice that of first order; above 1 the foot dips and the top overshoots.',
    }),
    quality(n, {
      id: 'ZeroQ', label: 'Q of the zero', shortLabel: 'zero Q', range: [0.1, 3], default: 0.8,
      help: 'Of a shelf with pole and zero apart: of a boost it shapes the foot; higher dips more.',
    }),
    quality(n, {
      id: 'PoleQ', label: 'Q of the pole', shortLabel: 'pole Q', range: [0.1, 3], default: 0.7,
      help: 'Of a shelf with pole and zero apart: of a boost it shapes the top; higher overshoots more.',
    }),
    quality(n, {
      id: 'Quality', label: 'Q', shortLabel: 'Q', range: [0.1, largestQuality], default: start.quality,
      help: 'Of a bell: centre over bandwidth, the bandwidth taken as the next choice says.',
    }),
    choice(n, {
      id: 'QualityIs', label: 'which Q', shortLabel: 'which Q', default: 'half-gain',
      options: [{ id: 'half-gain', label: 'between half-gain points' }, { id: 'three-decibel', label: 'classic, 3 dB under the top' }],
      help: 'Half gain: between the points with half the decibels. Classic: that of the resonance itself. They differ by the square root of the gain.',
    }),
    choice(n, {
      id: 'QualityLaw', label: 'Q over amount', shortLabel: 'Q law', default: 'constant',
      options: [{ id: 'constant', label: 'constant' }, { id: 'proportional', label: 'in proportion to amount' }],
      help: `Constant, or in proportion to the amount: the Q asked for holds at ${proportionalAtDb} dB, half of it at ${proportionalAtDb / 2} dB.`,
    }),
  ];
}

export const parameters: readonly Parameter[] = [...starts.flatMap((start, index) => sectionParameters(start, index + 1)), makeUp(0)];

const shelfParts: Readonly<Record<string, readonly string[]>> = { first: [], second: ['Steepness'], 'second-apart': ['ZeroQ', 'PoleQ'] };

/** Of a section that is off only its kind, of a shelf and a bell what shapes them. */
export function relevant(values: StageValues): readonly string[] {
  const parts = (n: number): readonly string[] => {
    switch (choiceOf(values, idOf(n, 'Kind'))) {
      case 'off': return ['Kind'];
      case 'bell': return ['Kind', 'Hz', 'Db', 'Quality', 'QualityIs', 'QualityLaw'];
      default: return ['Kind', 'Hz', 'Db', 'Order', ...shelfParts[choiceOf(values, idOf(n, 'Order'))]!];
    }
  };
  return [...starts.flatMap((_, index) => parts(index + 1).map((part) => idOf(index + 1, part))), 'makeUpDb'];
}
