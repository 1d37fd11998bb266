/** Total harmonic distortion and noise: what is left of a tone behind a notch, over all of it, both within 20 Hz – 20 kHz. */
import { densityAt, integrateDensity, noiseFrequencies } from '../../circuit/index.ts';
import { cos, decibelsToRatio, ratioToDecibels, sin } from '../../math/index.ts';
import type { OutputDensity } from '../noise-harmonics.ts';
import { kilohertz } from './intermodulation-products.ts';
import { readLines } from './line-reader.ts';
import { powerSpectrum } from './power-spectrum.ts';
import { whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';

/** AES17-2015, 5.2.5, 5.2.8 and 6.3.1 (from secondary pages): a standard notch has a Q of 1.2 to 3; the band; 997 Hz is the usual tone (from memory). */
export const standardNotch = { lowestQ: 1.2, highestQ: 3, bandHz: [20, 20_000], usualHz: 997 } as const;
/** The one used here. */
export const notchQ = 2;

export interface NoiseAndDistortion {
  /** Of the rms left over the rms of all. */
  readonly ratio: number;
  readonly db: number;
}

export interface DistortionAndNoiseReading {
  /** Behind the standard notch of Q 2, which takes a little off the low harmonics too. */
  readonly standard: NoiseAndDistortion;
  /** Behind a notch that takes out the tone alone. */
  readonly ideal: NoiseAndDistortion;
}

/** |H|² of the notch (s² + 1)/(s² + s/Q + 1) at `hz`: d²/(d² + 1/Q²), d = f/f0 − f0/f. */
export function notchPower(hz: number, notchHz: number, q = notchQ): number {
  const apart = hz / notchHz - notchHz / hz;
  return (apart * apart) / (apart * apart + 1 / (q * q));
}

export interface ToneAndNoise {
  readonly fundamentalHz: number;
  readonly fundamentalVolts: number;
  /** Peak volts of whatever else stands in the band: harmonics, hum. */
  readonly lines: readonly { readonly hz: number; readonly peakVolts: number }[];
  /** Null: silent. */
  readonly noise: OutputDensity | null;
}

/** Of lines and a density. Finer than a density is given, for the notch bends it. */
export function distortionAndNoise({ fundamentalHz, fundamentalVolts, lines, noise }: ToneAndNoise): DistortionAndNoiseReading {
  const [lowHz, highHz] = standardNotch.bandHz;
  const inBand = lines.filter(({ hz }) => hz >= lowHz && hz <= highHz);
  const grid = noise === null ? [] : noiseFrequencies(lowHz, highHz, 200);
  const densities = noise === null ? [] : grid.map((hz) => densityAt(noise.hz, noise.density, hz));
  const residue = (gainAt: (hz: number) => number): number =>
    inBand.reduce((sum, { hz, peakVolts }) => sum + ((peakVolts * peakVolts) / 2) * gainAt(hz), 0) + (grid.length === 0 ? 0 : integrateDensity(grid, densities.map((density, k) => density * gainAt(grid[k]!))));
  const left = residue(() => 1);
  return readingOf((fundamentalVolts * fundamentalVolts) / 2 + left, left, residue((hz) => notchPower(hz, fundamentalHz)));
}

function readingOf(total: number, left: number, notched: number): DistortionAndNoiseReading {
  const figure = (power: number): NoiseAndDistortion => {
    const ratio = Math.sqrt(power / total);
    return { ratio, db: ratioToDecibels(ratio) };
  };
  return { standard: figure(notched), ideal: figure(left) };
}

/** What the tone leaves in lines that it is spread over is counted as the tone's: those nearest to it. */
const nearLines = 2;
/** Below this in the band beside the whole there is no tone. */
const leastShare = decibelsToRatio(-140);

/**
 * Of a record with one tone of `fundamentalHz`, exactly. The tone is fitted and taken off before any window is laid on, so that its own leak is not counted as noise. A stretch must hold some tens of cycles.
 */
export function meterDistortionAndNoise(record: WaveRecord, fundamentalHz: number): Metered<DistortionAndNoiseReading> {
  const refusal = whyUnreadable(record);
  if (refusal !== null) return { refusal };
  const lines = readLines(record);
  if (!(2 * lines.apartHz <= fundamentalHz || record.repeats)) return { refusal: `too short: expected at least ${kilohertz(2 * lines.apartHz)} for a stretch of this length, got a tone of ${kilohertz(fundamentalHz)}` };
  const { amplitudes, phases, dcVolts } = lines.at([fundamentalHz]);
  const [peak, phase] = [amplitudes[0]!, phases[0]!];
  const turn = (2 * Math.PI * fundamentalHz) / record.rateHz;
  const [along, across] = [peak * cos(phase), peak * sin(phase)];
  const left = record.samples.map((value, i) => value - dcVolts - along * cos(turn * i) + across * sin(turn * i));
  const { power, spacingHz } = powerSpectrum({ ...record, samples: left });
  const [lowHz, highHz] = standardNotch.bandHz;
  const sum = (gainAt: (hz: number) => number): number => {
    let total = 0;
    for (let line = Math.max(1, Math.ceil(lowHz / spacingHz - 1e-9)); line < power.length && line * spacingHz <= highHz * (1 + 1e-12); line += 1) total += power[line]! * gainAt(line * spacingHz);
    return total;
  };
  const tone = (peak * peak) / 2;
  const all = sum(() => 1);
  if (!(peak > 0 && tone > leastShare * all)) return { refusal: `no tone at ${kilohertz(fundamentalHz)}: there is nothing to take out` };
  const beside = record.repeats ? all : sum((hz) => (Math.abs(hz - fundamentalHz) <= nearLines * spacingHz ? 0 : 1));
  return readingOf(tone + all, beside, sum((hz) => notchPower(hz, fundamentalHz)));
}
