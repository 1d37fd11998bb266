/** Incremental gain, dVout/dVin, against input volts: the crossover's notch, the rails, the bias point between them. */
import { ratioToDecibels, powerOfTwo } from '../../math/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../stages/index.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureMark, type FigureSubject, type FigureTrace } from './contract.ts';
import { cycleOf } from './cycle.ts';
import { featuresOf, type GainFeatures, type GainPlace } from './gain-features.ts';
import { internalRateHz, NoSteadyState, refuseFrequency, refuseScope, scopeWords, steadyTone, sweepTone } from './tone.ts';
import { column, decibels, hertz, signedDbu, volts } from './words.ts';

/** Sines, each half as strong as the one before: 54 dB from the widest to the one that shows what is nearest to rest. */
const sines = 10;
/** Phases of each: a step is 0.8 % of its peak at the most. */
const leastFrames = 1536;
/** Of each sine the flanks count: near its tips neither moves. */
const farthestShare = 0.985;
/** Voltages that are looked at on each side of one sine. */
const placesPerSine = 24;
/** Rising and falling further apart than this share of the gain are drawn apart. */
const apartShare = 0.01;

/** What one sine says of its own part of the range. */
interface Points {
  readonly peakVolts: number;
  /** Ascending. */
  readonly places: readonly GainPlace[];
}

interface Part {
  /** The sine's level is so many times 6 dB under the highest. */
  readonly halvings: number;
}

export const incrementalGain = figureView<Part, Points>({
  id: 'incremental-gain',
  title: 'Incremental gain',
  help: 'How much the output moves for a small move of the input, at every input voltage: the notch of a crossover, where the rails are, how straight it is between.',
  parameters: [
    makeParameter.level({ id: 'upToDbu', label: 'up to', shortLabel: 'up to', range: [-40, 40], default: 24, help: 'Level of the widest sine: its peak is the end of the axis.' }),
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the sines: high enough for coupling capacitors to hold their voltage, low enough for everything else to follow.' }),
  ],
  refuse: (facts, values) => refuseFrequency(facts, Number(values['frequencyHz'])) ?? refuseScope(facts),
  split: () => Array.from({ length: sines }, (_, halvings) => ({ halvings })),
  measure: measureSine,
  draw,
});

/**
 * Secants of the output against the input, whose phase is shifted to that of the output's fundamental (what lags as a whole is no loop). Of all but the weakest sine the outer half counts: what lies nearer to
 * rest is told by the next.
 */
function* measureSine(subject: FigureSubject, values: StageValues, { halvings }: Part): Generator<undefined, Points> {
  const frequency = sweepTone(internalRateHz(subject), Number(values['frequencyHz']), leastFrames);
  const peakVolts = dbuToPeakVolts(Number(values['upToDbu'])) * powerOfTwo(-halvings);
  let steady;
  try {
    steady = yield* steadyTone(subject, { frequency, peakVolts });
  } catch (error) {
    // One level that a circuit cannot repeat is a gap; one that never can is none.
    if (!(error instanceof NoSteadyState) || error.atRest) throw error;
    return { peakVolts, places: [] };
  }
  const { output, input, fundamental } = cycleOf(frequency, steady.input, steady.output);
  const frames = frequency.periodFrames;
  const folded = fundamental.phaseRadians - Math.PI * Math.round(fundamental.phaseRadians / Math.PI);
  // The input's cosine that much later or earlier, a whole number of samples.
  const shift = Math.round((frames * folded) / (2 * Math.PI));
  const at = (wave: Float64Array, p: number): number => wave[((p % frames) + frames) % frames]!;
  const rising: [number, number][] = [];
  const falling: [number, number][] = [];
  for (let p = 0; p < frames; p += 1) {
    const before = at(input, p + shift - 1);
    const after = at(input, p + shift + 1);
    const slope = (at(output, p + 1) - at(output, p - 1)) / (after - before);
    const here: [number, number] = [at(input, p + shift), slope];
    if (Math.abs(here[0]) <= steady.inputPeakVolts) (after > before ? rising : falling).push(here);
  }
  rising.sort(([a], [b]) => a - b);
  falling.sort(([a], [b]) => a - b);
  const end = farthestShare * steady.inputPeakVolts;
  const whole = halvings === sines - 1;
  const start = whole ? 0 : end / 2;
  const magnitudes = Array.from({ length: placesPerSine }, (_, k) => start + ((end - start) * (k + 1)) / placesPerSine);
  const inputs = [...magnitudes.map((each) => -each).reverse(), ...(whole ? [0] : []), ...magnitudes];
  return { peakVolts: steady.inputPeakVolts, places: inputs.map((inputVolts) => ({ inputVolts, rising: between(rising, inputVolts), falling: between(falling, inputVolts) })) };
}

/** Straight between the two nearest of a line in ascending order. */
function between(line: readonly (readonly [number, number])[], x: number): number {
  let low = 0;
  let high = line.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (line[middle]![0] <= x) low = middle;
    else high = middle;
  }
  const [x0, y0] = line[low]!;
  const [x1, y1] = line[high]!;
  return x1 === x0 ? y0 : y0 + ((x - x0) * (y1 - y0)) / (x1 - x0);
}

function draw(facts: FigureFacts, values: StageValues, points: readonly (Points | undefined)[]): Figure {
  const upToDbu = Number(values['upToDbu']);
  const title = `Incremental gain, ${scopeWords(facts)}, sines of ${hertz(Number(values['frequencyHz']))} up to ${signedDbu(upToDbu)}`;
  const come = points.flatMap((part) => part ?? []);
  const places = come.flatMap((part) => part.places).sort((a, b) => a.inputVolts - b.inputVolts);
  if (places.length === 0) return { title, caption: come.length === 0 ? '' : 'No sine has a steady state.', panels: [], tables: [], remarks: [] };
  const widest = come.reduce((most, { peakVolts }) => Math.max(most, peakVolts), 0);
  const features = points[sines - 1]?.places.length ? featuresOf(places) : null;
  const mean = places.map(({ rising, falling }) => (rising + falling) / 2);
  const lowest = Math.min(0, ...mean);
  const highest = Math.max(0, ...mean);
  const room = 0.05 * (highest - lowest);
  const gain: FigureAxis = { label: 'dVout/dVin', unit: '', scale: 'linear', written: 'plain', from: lowest === 0 ? 0 : lowest - room, to: highest === 0 ? 0 : highest + room };
  const input = (end: number): FigureAxis => ({ label: 'input', unit: 'V', scale: 'linear', written: 'prefixed', from: -end, to: end });
  const x = places.map(({ inputVolts }) => inputVolts);
  const traces: FigureTrace[] = [{ id: 'gain', label: 'incremental gain', axis: 'left', role: 'main', drawn: 'line', x, y: mean }];
  const largest = Math.max(-lowest, highest);
  if (places.some(({ rising, falling }) => Math.abs(rising - falling) > apartShare * largest)) {
    traces.push({ id: 'rising', label: 'rising', axis: 'left', role: 'second', drawn: 'line', x, y: places.map(({ rising }) => rising) });
    traces.push({ id: 'falling', label: 'falling', axis: 'left', role: 'third', drawn: 'line', x, y: places.map(({ falling }) => falling) });
  }
  const marks = features === null ? [] : marksOf(features);
  const near = features?.notch ? Math.min(widest, 4 * features.notch.toVolts) : widest / 16;
  return {
    title,
    caption: features === null ? '' : captionOf(features),
    panels: [
      { title: 'Gain over the whole range', x: input(widest), left: gain, traces, marks },
      { title: 'Near rest', x: input(near), left: gain, traces, marks: marks.filter((mark) => Math.abs(mark.x!) <= near) },
    ],
    tables: [
      {
        columns: [column.volts('input'), { label: 'gain', unit: '', written: 'plain', digits: 5 }, { label: 'rising', unit: '', written: 'plain', digits: 5 }, { label: 'falling', unit: '', written: 'plain', digits: 5 }],
        rows: places.flatMap(({ inputVolts, rising, falling }, k) => (k % 6 === 0 || inputVolts === 0 ? [{ cells: [inputVolts, mean[k]!, rising, falling] }] : [])),
      },
    ],
    remarks: [
      'Quasi-static: each voltage is read off the flanks of a sine that reaches up to twice as far, the move of the output over that of the input, mean of rising and falling; the input is shifted to the phase of the output\'s fundamental.',
      'Capacitors, cores and heat hold the bias that this sine gives them, as they do for music; sines of half the level tell what lies nearer to rest.',
    ],
  };
}

function marksOf({ notch, halfBelow, halfAbove }: GainFeatures): FigureMark[] {
  return [
    { x: 0, words: 'at rest' },
    ...(notch ? [{ x: notch.atVolts, y: notch.gain, words: `notch ${decibels(notch.depthDb)}` }] : []),
    ...[halfBelow, halfAbove].flatMap((at) => (at === null ? [] : [{ x: at, words: `half the gain at ${volts(at)}` }])),
  ];
}

/** Four digits, a true minus. */
const plain = (gain: number): string => String(Number(gain.toPrecision(4))).replace('-', '−');

function captionOf({ atRest, notch, halfBelow, halfAbove, most }: GainFeatures): string {
  const halves = [halfBelow, halfAbove].filter((at) => at !== null);
  const ends = halves.length === 0 ? 'it falls to half nowhere in this range' : `it falls to half at ${halves.map(volts).join(' and ')}`;
  const middle = notch ? `; a notch of ${decibels(notch.depthDb)} round ${volts(notch.atVolts)}, ${volts(notch.toVolts - notch.fromVolts)} wide, as of a crossover` : '';
  return `At rest the gain is ${plain(atRest)} (${decibels(ratioToDecibels(Math.abs(atRest)), 2)}), at most ${plain(most.gain)} at ${volts(most.atVolts)}${middle}; ${ends}.`;
}
