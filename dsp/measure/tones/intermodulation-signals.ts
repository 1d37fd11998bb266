/**
 * The test signals of intermodulation, as data. IEC 60268-3, clause 14.12; SMPTE RP 120 (both from secondary pages); E. Leinonen, M. Otala, J. Curl, "A method for measuring transient intermodulation
 * distortion", 1977.
 */
import { atan, cos } from '../../math/index.ts';
import { commonPeriod, type CommonPeriod } from './common-period.ts';
import type { DriveLine, PeriodicDrive } from './periodic-drive.ts';

/** How the products are judged: sidebands of the upper tone; differences of two equal tones (each order, or the two nearest together); a square wave beside a sine. */
export type IntermodulationMethod = 'modulation' | 'difference' | 'total-difference' | 'dynamic';

export interface IntermodulationSignal {
  /** Kebab-case, as the command line says it. */
  readonly id: string;
  /** "SMPTE, 60 Hz and 7 kHz, 4:1" */
  readonly title: string;
  readonly method: IntermodulationMethod;
  /** Lower and upper tone; of `dynamic` the square wave's frequency and the sine's. */
  readonly hertz: readonly [number, number];
  /** Of the sum of both peaks. */
  readonly shares: readonly [number, number];
  /** −3 dB of the one pole that the square wave goes through. */
  readonly squareCutoffHz?: number;
}

export const intermodulationSignals: readonly IntermodulationSignal[] = [
  { id: 'smpte-60-7000', title: 'SMPTE, 60 Hz and 7 kHz, 4:1', method: 'modulation', hertz: [60, 7000], shares: [0.8, 0.2] },
  { id: 'smpte-250-8000', title: 'SMPTE, 250 Hz and 8 kHz, 4:1', method: 'modulation', hertz: [250, 8000], shares: [0.8, 0.2] },
  { id: 'twin-19-20', title: 'twin tone, 19 and 20 kHz', method: 'difference', hertz: [19_000, 20_000], shares: [0.5, 0.5] },
  { id: 'twin-18-19', title: 'twin tone, 18 and 19 kHz', method: 'difference', hertz: [18_000, 19_000], shares: [0.5, 0.5] },
  { id: 'total-difference', title: 'total difference frequency, 8 and 11.95 kHz', method: 'total-difference', hertz: [8000, 11_950], shares: [0.5, 0.5] },
  { id: 'dim-30', title: 'DIM 30, square 3.15 kHz through 30 kHz and sine 15 kHz, 4:1', method: 'dynamic', hertz: [3150, 15_000], shares: [0.8, 0.2], squareCutoffHz: 30_000 },
  { id: 'dim-100', title: 'DIM 100, square 3.15 kHz through 100 kHz and sine 15 kHz, 4:1', method: 'dynamic', hertz: [3150, 15_000], shares: [0.8, 0.2], squareCutoffHz: 100_000 },
];

/** @throws RangeError for an unknown one, naming those there are */
export function intermodulationSignal(id: string): IntermodulationSignal {
  const found = intermodulationSignals.find((signal) => signal.id === id);
  if (found === undefined) throw new RangeError(`intermodulation: expected one of ${intermodulationSignals.map((signal) => signal.id).join(', ')}, got ${id}`);
  return found;
}

/** The period of both tones at a rate; throws RangeError where the rate is too low for them. */
export function signalPeriod({ hertz }: IntermodulationSignal, rateHz: number): CommonPeriod {
  return commonPeriod(hertz, rateHz);
}

/**
 * The signal as a drive: `peakVolts` is the sum of both peaks, that of the square wave before its pole, so that it reads the level of a sine with the same peak. The square wave has all odd harmonics below
 * half the rate: 4S/(π k) each, through the pole 1/(1 + j k f/fc), all as sines.
 */
export function signalDrive(signal: IntermodulationSignal, period: CommonPeriod, rateHz: number, peakVolts: number): PeriodicDrive {
  const [lower, upper] = period.cycles as [number, number];
  const [lowerVolts, upperVolts] = [signal.shares[0] * peakVolts, signal.shares[1] * peakVolts];
  if (signal.method !== 'dynamic') {
    return { rateHz, frames: period.frames, lines: [{ cycles: lower, peakVolts: lowerVolts, phaseRadians: 0 }, { cycles: upper, peakVolts: upperVolts, phaseRadians: 0 }] };
  }
  const lines: DriveLine[] = [{ cycles: upper, peakVolts: upperVolts, phaseRadians: -Math.PI / 2 }];
  for (let k = 1; 2 * k * lower < period.frames; k += 2) {
    const lag = atan((k * period.hertz[0]!) / signal.squareCutoffHz!);
    lines.push({ cycles: k * lower, peakVolts: ((4 * lowerVolts) / (Math.PI * k)) * cos(lag), phaseRadians: -Math.PI / 2 - lag });
  }
  return { rateHz, frames: period.frames, lines };
}
