/** The output's wave, below it what is left without its fundamental, and where on the transfer curve that happens. */
import { ratioToDecibels } from '../../math/index.ts';
import { dbuToPeakVolts, lineLevelDbu, makeParameter, type StageValues } from '../../stages/index.ts';
import { floorDb } from '../measure-path.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureMark, type FigureSubject, type FigureTable } from './contract.ts';
import { cycleOf, largestOf, rmsOf, roundDown, roundUp } from './cycle.ts';
import { internalRateHz, refuseFrequency, refuseScope, scopeWords, steadyTone, sweepTone } from './tone.ts';
import { column, decibels, hertz, percent, signedDbu, volts } from './words.ts';

/** Phases of the cycle that are measured at least, and drawn at most. */
const leastFrames = 192;
const mostDrawn = 1200;
/** Cycles drawn. */
const drawnCycles = 2;
/** A peak of the residual is named if it reaches this share of the largest, so far (in cycles) from the next. */
const namedShare = 0.5;
const namedApart = 1 / 16;
const mostNamed = 4;
/** Rows of the table in a cycle. */
const tableRows = 72;

interface Peak {
  readonly seconds: number;
  readonly inputVolts: number;
  readonly outputVolts: number;
  readonly residualVolts: number;
  /** Of the output's fundamental, as a share of its peak: 0 at its zero crossing, ±1 at its tips. */
  readonly height: number;
}

interface Points {
  readonly hz: number;
  /** Of one cycle, from the rising zero of the output's fundamental on. */
  readonly seconds: Float64Array;
  readonly input: Float64Array;
  readonly output: Float64Array;
  readonly residual: Float64Array;
  readonly meanVolts: number;
  readonly fundamentalPeakVolts: number;
  readonly residualRmsVolts: number;
  readonly residualPeakVolts: number;
  /** In order of time. */
  readonly peaks: readonly Peak[];
}

export const waveformAndResidual = figureView<null, Points>({
  id: 'waveform',
  title: 'Waveform and residual',
  help: 'The output as an oscilloscope shows it, what is left of it without its fundamental on the same time axis, and where on the transfer curve that happens.',
  parameters: [
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the tone at the source.' }),
    makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-80, 40], default: lineLevelDbu, help: 'Of the tone at the source.' }),
  ],
  refuse: (facts, values) => refuseFrequency(facts, Number(values['frequencyHz'])) ?? refuseScope(facts),
  split: () => [null],
  measure: measureWaveform,
  draw,
});

function* measureWaveform(subject: FigureSubject, values: StageValues): Generator<undefined, Points> {
  const frequency = sweepTone(internalRateHz(subject), Number(values['frequencyHz']), leastFrames);
  const steady = yield* steadyTone(subject, { frequency, peakVolts: dbuToPeakVolts(Number(values['levelDbu'])) });
  const { input, output, residual, meanVolts, fundamental } = cycleOf(frequency, steady.input, steady.output);
  const frames = frequency.periodFrames;
  const turn = 2 * Math.PI;
  // The rising zero of a cosine of phase φ lies where 2π p / N + φ = −π/2.
  const trigger = (frames * (-Math.PI / 2 - fundamental.phaseRadians)) / turn;
  const first = Math.ceil(trigger);
  const at = (k: number): number => (((first + k) % frames) + frames) % frames;
  const from = (wave: Float64Array): Float64Array => wave.map((_, k) => wave[at(k)]!);
  const waves = { input: from(input), output: from(output), residual: from(residual) };
  const times = Float64Array.from(residual, (_, k) => (first - trigger + k) / (frames * frequency.hz));
  const peakVolts = fundamental.peakVolts;
  const peaks = namedPeaks(waves.residual).map((k): Peak => ({
    seconds: times[k]!, inputVolts: waves.input[k]!, outputVolts: waves.output[k]!, residualVolts: waves.residual[k]!,
    height: peakVolts > 0 ? (waves.output[k]! - meanVolts - waves.residual[k]!) / peakVolts : 0,
  }));
  const stride = Math.ceil(frames / mostDrawn);
  const thin = (wave: Float64Array): Float64Array => wave.filter((_, k) => k % stride === 0);
  return {
    hz: frequency.hz, seconds: thin(times), input: thin(waves.input), output: thin(waves.output), residual: thin(waves.residual), meanVolts, fundamentalPeakVolts: peakVolts,
    residualRmsVolts: rmsOf(residual), residualPeakVolts: largestOf(residual), peaks,
  };
}

/** Places of the strongest turning points, in order of time. */
function namedPeaks(residual: Float64Array): number[] {
  const { length } = residual;
  const size = (k: number): number => Math.abs(residual[((k % length) + length) % length]!);
  const least = namedShare * largestOf(residual);
  const turning = Array.from(residual.keys()).filter((k) => size(k) >= least && size(k) > 0 && size(k) >= size(k - 1) && size(k) > size(k + 1)).sort((a, b) => size(b) - size(a));
  const named: number[] = [];
  for (const k of turning) {
    const near = named.some((other) => {
      const apart = Math.abs(k - other);
      return Math.min(apart, length - apart) < namedApart * length;
    });
    if (!near) named.push(k);
    if (named.length === mostNamed) break;
  }
  return named.sort((a, b) => a - b);
}

const nameOf = (index: number): string => 'abcd'[index]!;

/** Where on the wave. */
function placeOf({ height }: Peak): string {
  const away = Math.abs(height);
  return away < 0.3 ? 'near the zero crossing' : away > 0.9 ? 'at a tip of the wave' : 'on a flank of the wave';
}

function draw(facts: FigureFacts, values: StageValues, [points]: readonly (Points | undefined)[]): Figure {
  const frequencyHz = Number(values['frequencyHz']);
  const levelDbu = Number(values['levelDbu']);
  const title = `Waveform and residual, ${scopeWords(facts)}, ${hertz(points?.hz ?? frequencyHz)} at ${signedDbu(levelDbu)}`;
  if (points === undefined) return { title, caption: '', panels: [], tables: [], remarks: [] };
  const { hz, fundamentalPeakVolts, meanVolts, residualRmsVolts, residualPeakVolts, peaks } = points;
  const outputEnd = roundUp(1.02 * largestOf(points.output));
  const ratio = (residualRmsVolts * Math.SQRT2) / fundamentalPeakVolts;
  const silent = !(ratioToDecibels(ratio) >= floorDb);
  const gain = silent ? 1 : roundDown(outputEnd / residualPeakVolts);
  const residualEnd = outputEnd / gain;
  const time: FigureAxis = { label: 'time from the rising zero', unit: 's', scale: 'linear', written: 'prefixed', from: 0, to: drawnCycles / hz };
  const output: FigureAxis = { label: 'output', unit: 'V', scale: 'linear', written: 'prefixed', from: -outputEnd, to: outputEnd };
  const residual: FigureAxis = { label: 'residual', unit: 'V', scale: 'linear', written: 'prefixed', from: -residualEnd, to: residualEnd };
  const inputEnd = roundUp(1.02 * largestOf(points.input));
  const repeated = (wave: Float64Array, shift: number): number[] => Array.from({ length: drawnCycles }, (_, cycle) => Array.from(wave, (value) => value + cycle * shift)).flat();
  const x = repeated(points.seconds, 1 / hz);
  const closed = (wave: Float64Array): number[] => [...wave, wave[0]!];
  const named = silent ? [] : peaks;
  const uprights = named.map((peak, k): FigureMark => ({ x: peak.seconds, y: peak.residualVolts, words: `${nameOf(k)}: ${volts(peak.inputVolts)} in` }));
  const places = named.map((peak, k): FigureMark => ({ x: peak.inputVolts, y: peak.outputVolts, words: nameOf(k) }));
  return {
    title,
    caption: captionOf(points, levelDbu, ratio, gain, silent),
    panels: [
      { title: 'Output', x: time, left: output, marks: [], traces: [{ id: 'output', label: 'output', axis: 'left', role: 'main', drawn: 'line', x, y: repeated(points.output, 0) }] },
      {
        title: silent ? 'Residual: under the floor' : `Residual × ${gain}`, x: time, left: residual, marks: uprights,
        traces: [{ id: 'residual', label: 'residual', axis: 'left', role: 'difference', drawn: 'line', x, y: repeated(points.residual, 0) }],
      },
      {
        title: 'Output and residual against input', x: { label: 'input', unit: 'V', scale: 'linear', written: 'prefixed', from: -inputEnd, to: inputEnd }, left: output, right: residual, marks: places,
        traces: [
          { id: 'transfer', label: 'output', axis: 'left', role: 'main', drawn: 'line', x: closed(points.input), y: closed(points.output) },
          { id: 'residual-transfer', label: 'residual', axis: 'right', role: 'difference', drawn: 'line', x: closed(points.input), y: closed(points.residual) },
        ],
      },
    ],
    tables: [
      {
        columns: [column.text(''), column.volts('volts'), { label: 're fundamental', unit: 'dB', written: 'plain', digits: 2 }],
        rows: [
          { cells: ['fundamental, peak', fundamentalPeakVolts, 0] },
          { cells: ['mean while driven', meanVolts, null] },
          { cells: ['residual, rms', residualRmsVolts, silent ? null : ratioToDecibels(ratio)] },
          { cells: ['residual, peak', residualPeakVolts, silent ? null : ratioToDecibels(residualPeakVolts / fundamentalPeakVolts)] },
        ],
      },
      ...(named.length === 0 ? [] : [peakTable(named)]),
      waveTable(points),
    ],
    remarks: [
      'The residual is the output without its mean and its fundamental, both projected out of whole cycles; its rms over that of the fundamental is the distortion of all orders together.',
      'Against input: one cycle as it runs, with what memory the circuit has; a loop is phase or hysteresis.',
    ],
  };
}

function captionOf({ hz, peaks, residualPeakVolts }: Points, levelDbu: number, ratio: number, gain: number, silent: boolean): string {
  const where = `At ${signedDbu(levelDbu)} and ${hertz(hz)} the residual`;
  if (silent) return `${where} lies under ${decibels(floorDb)} of the fundamental: rounding.`;
  const strongest = peaks.reduce<Peak | null>((most, peak) => (most === null || Math.abs(peak.residualVolts) > Math.abs(most.residualVolts) ? peak : most), null);
  const peak = strongest === null ? '' : `; it peaks at ${volts(residualPeakVolts)} ${placeOf(strongest)}, with ${volts(strongest.inputVolts)} of input`;
  return `${where} is ${percent(ratio)} (${decibels(ratioToDecibels(ratio))}) of the fundamental, drawn × ${gain}${peak}.`;
}

function peakTable(peaks: readonly Peak[]): FigureTable {
  return {
    columns: [column.text('peak of the residual'), { label: 'time', unit: 's', written: 'prefixed', digits: 4 }, column.volts('input'), column.volts('output'), column.volts('residual'), column.text('where')],
    rows: peaks.map((peak, k) => ({ cells: [nameOf(k), peak.seconds, peak.inputVolts, peak.outputVolts, peak.residualVolts, placeOf(peak)] })),
  };
}

function waveTable(points: Points): FigureTable {
  const stride = Math.max(1, Math.floor(points.seconds.length / tableRows));
  return {
    columns: [{ label: 'time', unit: 's', written: 'prefixed', digits: 4 }, column.volts('input'), column.volts('output'), column.volts('residual')],
    rows: Array.from(points.seconds.keys()).filter((k) => k % stride === 0).map((k) => ({ cells: [points.seconds[k]!, points.input[k]!, points.output[k]!, points.residual[k]!] })),
  };
}
