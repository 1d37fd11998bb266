/** Intermodulation read off a spectrum: the figures of each method, in every convention that is in use, and the products one by one. */
import { ratioToDecibels } from '../../math/index.ts';
import { kilohertz, productsOfSquareAndSine, productsOfTwoTones, type Product } from './intermodulation-products.ts';
import type { IntermodulationSignal } from './intermodulation-signals.ts';
import { readLines, type LineReader } from './line-reader.ts';
import { leastTonePeak, whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';

export interface IntermodulationFigure {
  readonly id: string;
  /** "second order, arithmetic sum" */
  readonly label: string;
  readonly ratio: number;
  readonly db: number;
  /** "6.94 and 7.06 kHz added, over the 7 kHz tone" */
  readonly convention: string;
  readonly source: string;
}

export interface MeasuredProduct extends Product {
  readonly peakVolts: number;
  /** Over `referenceVolts`. */
  readonly db: number;
  /** Below the lowest tone: where no music masks it. */
  readonly belowTones: boolean;
}

export interface IntermodulationReading {
  /** As they come out; of a square wave its fundamental. */
  readonly tones: readonly { readonly hz: number; readonly peakVolts: number }[];
  readonly mean: number;
  /** What the products' decibels are counted over, in peak volts and in words. */
  readonly referenceVolts: number;
  readonly referenceWords: string;
  /** The method's own convention first. */
  readonly figures: readonly IntermodulationFigure[];
  /** By order, then frequency. */
  readonly products: readonly MeasuredProduct[];
}

const iec = 'IEC 60268-3, Sound system equipment: amplifiers';
const sources = {
  modulation: `${iec}, 14.12.7 (from secondary pages)`,
  modulationRms: 'SMPTE RP 120, Measurement of intermodulation distortion (from secondary pages)',
  difference: `${iec}, 14.12.8 (from secondary pages)`,
  totalDifference: `${iec}, 14.12.10 (from secondary pages)`,
  dynamic: `${iec}, 14.12.9; Leinonen, Otala, Curl, A method for measuring transient intermodulation distortion, 1977`,
  practice: 'common practice, no source',
};

/** Highest order that is looked for among two tones. */
export const highestProductOrder = 9;
/** A tone weaker than this, of the strongest line, is not there. */
const leastTone = 1e-7;

export interface IntermodulationOptions {
  /** Products at or above are left out: half the rate, or where the audible ends. */
  readonly belowHz: number;
}

/** Of a record that was driven with `signal`, its tones at `hertz`. */
export function meterIntermodulation(record: WaveRecord, signal: IntermodulationSignal, hertz: readonly [number, number] = signal.hertz): Metered<IntermodulationReading> {
  const refusal = whyUnreadable(record);
  if (refusal !== null) return { refusal };
  const reading = readIntermodulation(readLines(record), signal, hertz, { belowHz: record.rateHz / 2 });
  const missing = reading.refusal === undefined ? reading.tones.find(({ peakVolts }) => !(peakVolts > leastTonePeak(record))) : undefined;
  return missing === undefined ? reading : noTone(missing.hz);
}

/** The same of a spectrum. */
export function readIntermodulation(lines: LineReader, signal: IntermodulationSignal, hertz: readonly [number, number], { belowHz }: IntermodulationOptions): Metered<IntermodulationReading> {
  const lowest = Math.min(...hertz);
  const products = signal.method === 'dynamic' ? productsOfSquareAndSine(hertz) : productsOfTwoTones(hertz, highestProductOrder, belowHz);
  const nearestHz = nearest([...hertz, ...products.filter(({ order }) => order <= 3).map(({ hz }) => hz)]);
  if (!(lines.apartHz <= nearestHz * (1 + 1e-9))) {
    return { refusal: `too short: lines less than ${kilohertz(lines.apartHz)} apart run together, and this signal has its products ${kilohertz(nearestHz)} apart` };
  }
  const { amplitudes: peaks, dcVolts: mean } = lines.at([...hertz, ...products.map(({ hz }) => hz)]);
  const tones = hertz.map((hz, k) => ({ hz, peakVolts: peaks[k]! }));
  const strongest = peaks.reduce((most, peak) => Math.max(most, peak), 0);
  const missing = tones.find(({ peakVolts }) => !(peakVolts > leastTone * strongest));
  if (missing) return noTone(missing.hz);
  const [lower, upper] = tones as [{ hz: number; peakVolts: number }, { hz: number; peakVolts: number }];
  const overBoth = signal.method === 'difference' || signal.method === 'total-difference';
  const referenceVolts = overBoth ? lower.peakVolts + upper.peakVolts : upper.peakVolts;
  const measured = products.map((product, k): MeasuredProduct => {
    const peakVolts = peaks[k + 2]!;
    return { ...product, peakVolts, db: ratioToDecibels(peakVolts / referenceVolts), belowTones: product.hz < lowest };
  });
  const peakAt = (words: string): number => measured.find((product) => product.words === words)?.peakVolts ?? 0;
  const figures = figuresOf(signal, { referenceVolts, peakAt, hertz, all: measured });
  return {
    tones, mean, referenceVolts, figures, products: measured,
    referenceWords: overBoth ? `the sum of both tones` : `the ${kilohertz(upper.hz)} tone`,
  };
}

interface Found {
  readonly referenceVolts: number;
  readonly hertz: readonly [number, number];
  readonly all: readonly MeasuredProduct[];
  peakAt(words: string): number;
}

function figuresOf(signal: IntermodulationSignal, found: Found): IntermodulationFigure[] {
  const { referenceVolts, peakAt, hertz: [f1, f2] } = found;
  const figure = (id: string, label: string, volts: number, convention: string, source: string): IntermodulationFigure => {
    const ratio = volts / referenceVolts;
    return { id, label, ratio, db: ratioToDecibels(ratio), convention, source };
  };
  const at = (...hertz: readonly number[]): string => hertz.map(kilohertz).join(' and ');
  switch (signal.method) {
    case 'modulation': {
      const over = `over the ${kilohertz(f2)} tone`;
      const second = [peakAt('f2 − f1'), peakAt('f1 + f2')];
      const third = [peakAt('f2 − 2 f1'), peakAt('2 f1 + f2')];
      return [
        figure('second-arithmetic', 'second order, arithmetic sum', sum(second), `${at(f2 - f1, f2 + f1)} added, ${over}`, sources.modulation),
        figure('second-rms', 'second order, rms sum', rms(second), `${at(f2 - f1, f2 + f1)} by power, ${over}`, sources.modulationRms),
        figure('third-arithmetic', 'third order, arithmetic sum', sum(third), `${at(f2 - 2 * f1, f2 + 2 * f1)} added, ${over}`, sources.modulation),
        figure('third-rms', 'third order, rms sum', rms(third), `${at(f2 - 2 * f1, f2 + 2 * f1)} by power, ${over}`, sources.modulationRms),
        figure('sidebands-rms', 'both orders, rms sum', rms([...second, ...third]), `all four sidebands by power, ${over}`, sources.modulationRms),
      ];
    }
    case 'difference': {
      const second = peakAt('f2 − f1');
      const third = [peakAt('2 f1 − f2'), peakAt('2 f2 − f1')];
      const thirdAt = at(2 * f1 - f2, 2 * f2 - f1);
      return [
        figure('second-over-sum', 'second order, over both tones', second, `${at(f2 - f1)} over the sum of both tones`, sources.difference),
        figure('second-over-one', 'second order, over one tone', 2 * second, `${at(f2 - f1)} over the mean of the tones`, sources.practice),
        figure('third-over-sum', 'third order, arithmetic sum, over both tones', sum(third), `${thirdAt} added, over the sum of both tones`, sources.difference),
        figure('third-over-one', 'third order, arithmetic sum, over one tone', 2 * sum(third), `${thirdAt} added, over the mean of the tones`, sources.practice),
        figure('third-rms-over-sum', 'third order, rms sum, over both tones', rms(third), `${thirdAt} by power, over the sum of both tones`, sources.practice),
      ];
    }
    case 'total-difference': {
      const both = [peakAt('f2 − f1'), peakAt('2 f1 − f2')];
      const where = at(f2 - f1, 2 * f1 - f2);
      return [
        figure('total-over-sum', 'rms sum, over both tones', rms(both), `${where} by power, over the sum of both tones`, sources.totalDifference),
        figure('total-over-one', 'rms sum, over one tone', 2 * rms(both), `${where} by power, over the mean of the tones`, sources.practice),
        figure('total-arithmetic', 'arithmetic sum, over both tones', sum(both), `${where} added, over the sum of both tones`, sources.practice),
      ];
    }
    case 'dynamic': {
      const volts = (belongs: (product: MeasuredProduct, index: number) => boolean): number[] => found.all.filter(belongs).map(({ peakVolts }) => peakVolts);
      const over = `over the ${kilohertz(f2)} sine`;
      return [
        figure('dynamic-rms', 'nine products, rms sum', rms(volts(() => true)), `|k × ${kilohertz(f1)} − ${kilohertz(f2)}|, k = 1 to 9, by power, ${over}`, sources.dynamic),
        figure('dynamic-odd', 'of odd k, rms sum', rms(volts((_, index) => index % 2 === 0)), `k = 1, 3, 5, 7, 9: what a square law makes; ${over}`, sources.practice),
        figure('dynamic-even', 'of even k, rms sum', rms(volts((_, index) => index % 2 === 1)), `k = 2, 4, 6, 8: of cubic laws and of slewing; ${over}`, sources.practice),
      ];
    }
  }
}

function noTone(hz: number): { readonly refusal: string } {
  return { refusal: `no tone at ${kilohertz(hz)}: there is nothing to count the products over` };
}

/** Smallest distance of two frequencies, or of one from 0. */
function nearest(hertz: readonly number[]): number {
  const sorted = [0, ...hertz].sort((a, b) => a - b);
  return sorted.slice(1).reduce((least, hz, k) => Math.min(least, hz - sorted[k]!), Infinity);
}

function sum(volts: readonly number[]): number {
  return volts.reduce((total, each) => total + each, 0);
}

function rms(volts: readonly number[]): number {
  return Math.sqrt(volts.reduce((total, each) => total + each * each, 0));
}
