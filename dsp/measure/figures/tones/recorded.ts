/** The same figures of a recording of a test tone or signal, as it came out of a device. */
import { ratioToDecibels } from '../../../math/index.ts';
import {
  kilohertz, meterDistortion, meterDistortionAndNoise, meterIntermodulation, ordersBelow, standardNotch, toneFrequency, whyUnreadable, type IntermodulationSignal, type Metered, type WaveRecord,
} from '../../tones/index.ts';
import type { Figure } from '../contract.ts';
import { crestOf, distortionColumns, distortionRows, figureRow, practice } from './distortion-rows.ts';
import { intermodulationFigure } from './intermodulation.ts';
import { ratioWords, signed } from './words.ts';

export interface RecordedSignal {
  /** "take-3.wav, channel 1" */
  readonly title: string;
  /** One channel; full scale ±1. */
  readonly samples: Float64Array;
  readonly rateHz: number;
}

/** What windows leave of tones beside them. */
const floorDb = -110;
const mostFrames = 1_048_576;
const curveOrders = 20;

/** The middle of a long one: what begins and ends is not the tone. */
function recordOf({ samples, rateHz }: RecordedSignal): WaveRecord {
  const start = Math.max(0, Math.floor((samples.length - mostFrames) / 2));
  return { samples: samples.subarray(start, start + mostFrames), rateHz, repeats: false, fullScale: 1 };
}

/** Single figures of a recorded tone. Throws RangeError with the meter's sentence. */
export function recordedDistortion(signal: RecordedSignal, nominalHz: number, highestOrder: number): Figure {
  const record = recordOf(signal);
  refuseUnreadable(signal, record);
  const hz = toneFrequency(record.samples, record.rateHz, nominalHz);
  const orders = ordersBelow(hz, record.rateHz / 2, Math.max(highestOrder, curveOrders));
  const counted = orders.filter((order) => order <= highestOrder);
  const distortion = readingOf(signal, meterDistortion(record, hz, counted));
  const { curvature } = readingOf(signal, meterDistortion(record, hz, orders));
  const noise = readingOf(signal, meterDistortionAndNoise(record, hz));
  const { thd, weighted, fundamental, dcVolts } = distortion;
  const dbfs = ratioToDecibels(fundamental.peakVolts);
  const words = { highestOrder: counted.at(-1) ?? 1, floorDb, counted: 'harmonics, noise and hum' };
  return {
    title: `Single figures, ${kilohertz(nominalHz)}, ${signal.title}`,
    caption: `THD ${ratioWords(thd.f, ratioToDecibels(thd.f), floorDb)} over the fundamental, orders 2 to ${words.highestOrder}; THD+N ${ratioWords(noise.standard.ratio, noise.standard.db, floorDb)}; `
      + `the tone at ${hz.toFixed(3)} Hz, ${signed(dbfs, 2)} dBFS.`,
    panels: [],
    tables: [{
      columns: distortionColumns,
      rows: [
        figureRow('fundamental', { number: fundamental.peakVolts, db: dbfs }, 'peak over full scale', practice),
        ...distortionRows({ thd, weighted, curvature, distortionAndNoise: noise, crest: crestOf(record.samples) }, words),
        figureRow('mean', { number: dcVolts }, 'over full scale', practice),
      ],
    }],
    remarks: remarksOf(signal, [`THD+N within ${kilohertz(standardNotch.bandHz[0])} to ${kilohertz(Math.min(standardNotch.bandHz[1], record.rateHz / 2))}; orders from half the rate on cannot be there.`]),
  };
}

/** Intermodulation of a recorded signal. Throws RangeError with the meter's sentence. */
export function recordedIntermodulation(signal: RecordedSignal, test: IntermodulationSignal): Figure {
  const record = recordOf(signal);
  refuseUnreadable(signal, record);
  if (!(Math.max(...test.hertz) < record.rateHz / 2)) throw new RangeError(`${signal.title}: expected a rate above ${kilohertz(2 * Math.max(...test.hertz))} for ${test.title}, got ${kilohertz(record.rateHz)}`);
  const [lower, upper] = test.hertz.map((hz) => toneFrequency(record.samples, record.rateHz, hz)) as [number, number];
  const reading = readingOf(signal, meterIntermodulation(record, test, [lower, upper]));
  return intermodulationFigure({
    title: `Intermodulation, ${test.title}, ${signal.title}`, of: signal.title, reading, square: [],
    remarks: remarksOf(signal, [`Tones found at ${lower.toFixed(3)} and ${upper.toFixed(3)} Hz; volts are shares of full scale.`]),
  });
}

function refuseUnreadable({ title }: RecordedSignal, record: WaveRecord): void {
  const refusal = whyUnreadable(record);
  if (refusal !== null) throw new RangeError(`${title}: ${refusal}`);
}

function readingOf<Reading>({ title }: RecordedSignal, metered: Metered<Reading>): Reading {
  if (metered.refusal !== undefined) throw new RangeError(`${title}: ${metered.refusal}`);
  return metered;
}

function remarksOf({ samples }: RecordedSignal, own: readonly string[]): string[] {
  return [
    ...own,
    `Read through windows: what lies ${-floorDb} dB and more below a tone may be the window's.`,
    ...(samples.length > mostFrames ? [`Of the middle ${mostFrames} samples of ${samples.length}.`] : []),
  ];
}
