/** Incremental gain, dVout/dVin, against input volts: the crossover's notch, the rails, the bias point between them. */
import { growthAtRest } from '../../circuit/index.ts';
import { cos, powerOfTwo, ratioToDecibels } from '../../math/index.ts';
import { createStageRunner, dbuToPeakVolts, makeParameter, type StageValues } from '../../stages/index.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureMark, type FigureSubject, type FigureTrace } from './contract.ts';
import { featuresOf, type GainFeatures, type GainPlace } from './gain-features.ts';
import { internalRateHz, NoSteadyState, plannedIndex, refuseScope, scopeWords, stageName } from './tone.ts';
import { column, decibels, hertz, signedDbu, volts } from './words.ts';

/** Pulses, each half as high as the one before: 54 dB from the highest to the one that shows what is nearest to rest. */
const pulses = 10;
/** Of each pulse the flanks count: near its top and its foot neither side moves. */
const farthestShare = 0.985;
const nearestShare = 0.03;
/** Voltages that are looked at on each side of one pulse. */
const placesPerPulse = 24;
/** What one pulse of either sign says of its own part of the range. */
interface Points {
  readonly peakVolts: number;
  /** Ascending. */
  readonly places: readonly GainPlace[];
}

interface Part {
  /** The pulse's height is so many times 6 dB under the highest. */
  readonly halvings: number;
}

export const incrementalGain = figureView<Part, Points>({
  id: 'incremental-gain',
  title: 'Incremental gain',
  help: 'How much the output moves for a small move of the input, at every input voltage: the notch of a crossover, where the rails are, how straight it is between.',
  parameters: [
    makeParameter.level({ id: 'upToDbu', label: 'up to', shortLabel: 'up to', range: [-40, 40], default: 24, help: 'Level at the input of what is measured; the peak of its sine is the end of the axis.' }),
    makeParameter.frequency({ id: 'frequencyHz', label: 'pulse as long as a cycle of', shortLabel: 'pulse', range: [100, 4000], default: 1000, help: 'Short enough for coupling capacitors to hold their voltage, long enough for everything else to follow.' }),
  ],
  refuse: refuseScope,
  split: () => Array.from({ length: pulses }, (_, halvings) => ({ halvings })),
  measure: measurePulse,
  draw,
});

/**
 * A pulse of each sign from rest, half a raised cosine up and half down: the output's move over the input's from sample to sample. Of all but the lowest pulse the upper half counts: what lies nearer to rest is
 * told by the next. Yields between stages.
 */
function* measurePulse(subject: FigureSubject, values: StageValues, { halvings }: Part): Generator<undefined, Points> {
  const peakVolts = dbuToPeakVolts(Number(values['upToDbu'])) * powerOfTwo(-halvings);
  const frames = Math.round(internalRateHz(subject) / Number(values['frequencyHz']));
  const shape = Float64Array.from({ length: frames + 1 }, (_, k) => (peakVolts * (1 - cos((2 * Math.PI * k) / frames))) / 2);
  const inputs = [shape, shape.map((value) => -value)] as const;
  const outputs = inputs.map((wave) => wave.slice()) as [Float64Array, Float64Array];
  const index = plannedIndex(subject);
  for (const { key, reversed, wired: { program } } of index < 0 ? subject.plan.stages : [subject.plan.stages[index]!]) {
    if (program.kind === 'circuit' && growthAtRest(program.circuit, 1) > 1) {
      throw new NoSteadyState(`${subject.path === null ? 'The circuit' : `Stage ${stageName(subject, key)}`} oscillates or is bistable: it has no gain to be shown.`, true);
    }
    createStageRunner(program, 2, 'measuring').process(outputs, 0, frames + 1);
    if (reversed) for (const wave of outputs) wave.forEach((value, k) => { wave[k] = -value; });
    yield undefined;
  }
  const end = farthestShare * peakVolts;
  const whole = halvings === pulses - 1;
  const start = whole ? nearestShare * peakVolts : end / 2;
  const magnitudes = Array.from({ length: placesPerPulse }, (_, k) => (whole ? start + ((end - start) * k) / (placesPerPulse - 1) : start + ((end - start) * (k + 1)) / placesPerPulse));
  const above = placesOf(inputs[0], outputs[0], magnitudes);
  const below = placesOf(inputs[1], outputs[1], magnitudes.map((each) => -each)).reverse();
  const nearest = [below.at(-1)!, above[0]!] as const;
  const rest: GainPlace = { inputVolts: 0, gain: (nearest[0].gain + nearest[1].gain) / 2 };
  return { peakVolts, places: [...below, ...(whole ? [rest] : []), ...above] };
}

/** Means of the way up and the way down, whose lags are each other's opposite. */
function placesOf(input: Float64Array, output: Float64Array, wanted: readonly number[]): GainPlace[] {
  const middle = (input.length - 1) / 2;
  const line = (first: number, last: number): [number, number][] => {
    const places: [number, number][] = [];
    for (let k = first; k <= last; k += 1) places.push([input[k]!, (output[k + 1]! - output[k - 1]!) / (input[k + 1]! - input[k - 1]!)]);
    return places.sort(([a], [b]) => a - b);
  };
  const away = line(1, Math.ceil(middle) - 1);
  const back = line(Math.floor(middle) + 1, input.length - 2);
  return wanted.map((inputVolts) => ({ inputVolts, gain: (between(away, inputVolts) + between(back, inputVolts)) / 2 }));
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
  const title = `Incremental gain, ${scopeWords(facts)}, pulses of a cycle of ${hertz(Number(values['frequencyHz']))} up to ${signedDbu(upToDbu)}`;
  const come = points.flatMap((part) => part ?? []);
  const places = come.flatMap((part) => part.places).sort((a, b) => a.inputVolts - b.inputVolts);
  if (places.length === 0) return { title, caption: '', panels: [], tables: [], remarks: [] };
  const widest = come.reduce((most, { peakVolts }) => Math.max(most, peakVolts), 0);
  const features = points[pulses - 1] ? featuresOf(places) : null;
  const gains = places.map(({ gain }) => gain);
  const lowest = Math.min(0, ...gains);
  const highest = Math.max(0, ...gains);
  const room = 0.05 * (highest - lowest);
  const height: FigureAxis = { label: 'dVout/dVin', unit: '', scale: 'linear', written: 'plain', from: lowest === 0 ? 0 : lowest - room, to: highest === 0 ? 0 : highest + room };
  const input = (end: number): FigureAxis => ({ label: 'input', unit: 'V', scale: 'linear', written: 'prefixed', from: -end, to: end });
  const x = places.map(({ inputVolts }) => inputVolts);
  const traces: readonly FigureTrace[] = [{ id: 'gain', label: 'incremental gain', axis: 'left', role: 'main', drawn: 'line', x, y: gains }];
  const marks = features === null ? [] : marksOf(features);
  const near = features?.notch ? Math.min(widest, 4 * features.notch.toVolts) : widest / 16;
  return {
    title,
    caption: features === null ? '' : captionOf(features),
    panels: [
      { title: 'Gain over the whole range', x: input(widest), left: height, traces, marks },
      { title: 'Near rest', x: input(near), left: height, traces, marks: marks.filter((mark) => Math.abs(mark.x!) <= near) },
    ],
    tables: [
      {
        columns: [column.volts('input'), { label: 'gain', unit: '', written: 'plain', digits: 5 }],
        rows: places.flatMap(({ inputVolts, gain }, k) => (k % 6 === 0 || inputVolts === 0 ? [{ cells: [inputVolts, gain] }] : [])),
      },
    ],
    remarks: [
      'Quasi-static: from rest, a pulse of half a raised cosine up and half down, of either sign, and the move of the output over that of the input from sample to sample, mean of the way up and the way down, so that what lags falls out; lower pulses tell what lies nearer to rest.',
      'Coupling capacitors, cores and heat hold the bias of rest meanwhile. What a loud tone does to that bias is another figure.',
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
