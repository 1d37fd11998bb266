/** A stage or path in a dozen numbers, each with what it counts and where its definition stands. A table without a plot. */
import type { HarmonicFigures } from '../../../circuit/index.ts';
import { decibelsToRatio, ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter, peakVoltsToDbu, type StageValues } from '../../../stages/index.ts';
import { curvatureOf, distortionAndNoise, kilohertz, ordersBelow, standardNotch, type CurvatureFigure, type DistortionAndNoiseReading } from '../../tones/index.ts';
import { weightedByHalfOrder, weightedByOrderSquared } from '../../weighting.ts';
import { figureView, type Figure } from '../contract.ts';
import { coherentTone, refuseFrequency, refuseScope, scopeWords, steadyTone, toneFigures } from '../tone.ts';
import { backgroundOf, isNoisy } from './background.ts';
import { bandWords, crestOf, distortionColumns, distortionRows, figureRow, practice } from './distortion-rows.ts';
import { decibels, ratioWords, signed, signedDbu } from './words.ts';

/** Below this a ratio is rounding and what a solve leaves. */
const floorDb = -150;
/** Harmonics that are asked of a low tone; all to 20 kHz of one from 200 Hz on. */
const mostOrders = 100;
/** The bend of the curve is put together from these. */
const curveOrders = 20;

const parameters = [
  makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the tone; 997 Hz is usual for converters, 1 kHz for everything else.' }),
  makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 30], default: 4, help: 'Of the tone at the source.' }),
  makeParameter.ratio({ id: 'highestOrder', label: 'highest order', shortLabel: 'orders to', range: [2, 50], default: 10, help: 'Orders from 2 to this one count towards the total and the weighted figures.' }, 1, 'linear'),
];

interface Points {
  readonly frequencyHz: number;
  readonly harmonics: HarmonicFigures;
  readonly weighted: { readonly halfOrder: number; readonly orderSquared: number };
  readonly curvature: CurvatureFigure | null;
  readonly distortionAndNoise: DistortionAndNoiseReading;
  /** Peak over rms of the output about its mean. */
  readonly crest: number;
  /** Null where nothing makes noise. */
  readonly noiseDbu: number | null;
  readonly rippleDbu: number | null;
}

export const singleFiguresView = figureView<null, Points>({
  id: 'single-figures',
  title: 'Single figures',
  help: 'Distortion in single numbers: total, with noise, weighted by order, by the bend of the curve; each with its definition.',
  parameters,
  refuse: (facts, values) => refuseScope(facts) ?? refuseFrequency(facts, values['frequencyHz'] as number),
  split: () => [null],
  *measure(subject, values) {
    const frequency = coherentTone(subject, values['frequencyHz'] as number);
    const steady = yield* steadyTone(subject, { frequency, peakVolts: dbuToPeakVolts(values['levelDbu'] as number) });
    const highest = highestOrderOf(values);
    const belowHz = standardNotch.bandHz[1] * (1 + 1e-9);
    const audible = ordersBelow(frequency.hz, belowHz, mostOrders);
    const all = Array.from({ length: Math.max(highest, curveOrders, audible.length + 1) - 1 }, (_, k) => k + 2).filter((order) => 2 * order * frequency.cycles < frequency.periodFrames);
    const figures = toneFigures(steady, all);
    if (!(figures.fundamental.peakVolts > 0)) throw new RangeError('Nothing of the tone comes out: there is nothing to count harmonics over.');
    yield undefined;
    const background = backgroundOf(subject);
    const counted = figures.harmonics.filter(({ order }) => order <= highest);
    const f = Math.sqrt(counted.reduce((sum, { ratio }) => sum + ratio * ratio, 0));
    return {
      frequencyHz: frequency.hz,
      harmonics: { ...figures, harmonics: counted, thd: { f, r: f / Math.sqrt(1 + f * f) } },
      weighted: { halfOrder: weightedByHalfOrder(counted), orderSquared: weightedByOrderSquared(counted) },
      curvature: curvatureOf(figures.harmonics.filter(({ order }) => order <= curveOrders)),
      distortionAndNoise: distortionAndNoise({
        fundamentalHz: frequency.hz, fundamentalVolts: figures.fundamental.peakVolts, noise: background.noise,
        lines: [...figures.harmonics.map(({ order, ratio }) => ({ hz: order * frequency.hz, peakVolts: ratio * figures.fundamental.peakVolts })), ...background.ripple],
      }),
      crest: crestOf(steady.output),
      noiseDbu: background.noiseDbu, rippleDbu: background.rippleDbu,
    };
  },
  draw(facts, values, [points]): Figure {
    const title = `Single figures, ${kilohertz(values['frequencyHz'] as number)} at ${signedDbu(values['levelDbu'] as number)}, ${scopeWords(facts)}`;
    if (points === undefined) return { title, caption: 'Nothing measured yet.', panels: [], tables: [], remarks: [] };
    const noisy = isNoisy(facts);
    return { title, caption: captionOf(points, highestOrderOf(values), noisy), panels: [], tables: [tableOf(points, highestOrderOf(values), noisy)], remarks: remarksOf(points, facts.path === null) };
  },
});

function highestOrderOf(values: StageValues): number {
  return Math.round(values['highestOrder'] as number);
}

function captionOf({ harmonics: { thd }, distortionAndNoise: { standard }, weighted, curvature }: Points, highest: number, noisy: boolean): string {
  const ratio = (value: number): string => ratioWords(value, ratioToDecibels(value), floorDb);
  return `THD ${ratio(thd.f)} over the fundamental, orders 2 to ${highest}; THD+N ${ratio(standard.ratio)}${noisy ? '' : ', the path\'s noise being off'}; weighted by n²/4 ${ratio(weighted.orderSquared)}; `
    + `${curvature === null ? 'the curve has no slope in its middle' : `curvature ${curvature.root.toPrecision(3)}`}.`;
}

function tableOf(points: Points, highestOrder: number, noisy: boolean): Figure['tables'][number] {
  const { harmonics: { thd, dcVolts, fundamental }, weighted, curvature, distortionAndNoise: together, crest, noiseDbu, rippleDbu } = points;
  const rms = (dbu: number): number => decibelsToRatio(dbu) * dbuToPeakVolts(0) * Math.SQRT1_2;
  return {
    columns: distortionColumns,
    rows: [
      figureRow('fundamental at the output', { volts: fundamental.peakVolts }, `peak; ${signedDbu(peakVoltsToDbu(fundamental.peakVolts))}`, practice),
      ...distortionRows({ thd, weighted, curvature, distortionAndNoise: together, crest }, { highestOrder, floorDb, counted: noisy ? 'harmonics and the noise of the path' : 'harmonics; the path\'s noise is off' }),
      figureRow('DC shift', { volts: dcVolts }, 'mean while driven, less the mean at rest', practice),
      ...(noiseDbu === null ? [] : [figureRow('noise at the output', { volts: rms(noiseDbu) }, `rms, ${bandWords}, unweighted; ${signed(noiseDbu, 1)} dBu`, practice)]),
      ...(rippleDbu === null ? [] : [figureRow('supply ripple at the output', { volts: rms(rippleDbu) }, `rms of all its harmonics; ${signed(rippleDbu, 1)} dBu`, practice)]),
    ],
  };
}

function remarksOf({ frequencyHz, rippleDbu }: Points, isDocument: boolean): string[] {
  return [
    `Measured at ${kilohertz(frequencyHz)} in the steady state, in volts at the internal rate; ratios under ${decibels(floorDb)} are not shown.`,
    'Research says of single figures: thresholds for clipping lie far lower than for laws of second and third order (E. M. de Santis, S. Henin, Perception and thresholds of nonlinear distortion using complex signals, 2007, from its abstract); '
      + 'ratings followed the curvature (r = 0.95) and not THD (Geddes, Lee 2003, 34 listeners, from its abstract), who found below 1 basically inaudible in their music.',
    ...(isDocument ? ['A circuit by itself has no noise here: its parts\' noise belongs to a path with its supply on.'] : []),
    ...(rippleDbu === null ? [] : ['Ripple counts with its whole power at its lowest frequency.']),
  ];
}
