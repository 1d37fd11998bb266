/** What is said of a circuit's noise: volts in the audible band, referred to the input, against a source's own noise, and who makes most of it. */
import { ratioToDecibels } from '../math/index.ts';
import { standardKelvin } from './noise-data.ts';
import { audibleBandHz, densityAt, integrateDensity } from './noise-band.ts';
import type { NoiseMechanism } from './noise-sources.ts';
import type { CircuitNoise } from './noise.ts';

/** Where a density is quoted, and the gain that refers noise to the input. */
export const noiseReferenceHz = 1000;

export interface NoiseShare {
  readonly component: string;
  readonly mechanism: NoiseMechanism;
  /** Of the mean square in the band, 0 … 1. */
  readonly share: number;
  /** Alone, at the output, rms. */
  readonly volts: number;
}

export interface NoiseFigures {
  readonly bandHz: readonly [number, number];
  /** At the output, rms over the band, the source's included. */
  readonly totalVolts: number;
  /** The circuit's own alone. */
  readonly ownVolts: number;
  /** `ownVolts` over the gain at 1 kHz; null without an input or gain. */
  readonly inputVolts: number | null;
  /** The circuit's own at 1 kHz, referred to the input, V/√Hz. */
  readonly inputVoltsPerRootHz: number | null;
  /** Over the band, source at 290 K; null without a source that makes noise. */
  readonly noiseFigureDb: number | null;
  /** At 1 kHz. */
  readonly spotNoiseFigureDb: number | null;
  /** The circuit's own, strongest first. */
  readonly largest: readonly NoiseShare[];
}

export interface FigureOptions {
  /** Whether a component belongs to what drives the circuit; none if absent. */
  readonly isSource?: (component: string) => boolean;
  /** How many contributors are named; 3 if absent. */
  readonly count?: number;
  readonly bandHz?: readonly [number, number];
}

/** `noise` must reach over the band, ends included (`noiseFrequencies`). */
export function noiseFigures(noise: CircuitNoise, { isSource = () => false, count = 3, bandHz = audibleBandHz }: FigureOptions = {}): NoiseFigures {
  const inBand = noise.hz.flatMap((hz, k) => (hz >= bandHz[0] && hz <= bandHz[1] ? [k] : []));
  const hz = inBand.map((k) => noise.hz[k]!);
  if (!(hz[0] === bandHz[0] && hz.at(-1) === bandHz[1])) throw new RangeError(`noise band: expected frequencies from ${bandHz[0]} to ${bandHz[1]} Hz, got ${noise.hz[0]} to ${noise.hz.at(-1)} Hz`);
  const square = (density: Float64Array): number => integrateDensity(hz, inBand.map((k) => density[k]!));
  const spot = (density: Float64Array): number => densityAt(noise.hz, density, noiseReferenceHz);
  const own = sumOf(noise, (component) => !isSource(component));
  const source = sumOf(noise, isSource).map((density) => (density * standardKelvin) / noise.temperatureK);
  const ownSquare = square(own);
  const gainSquare = noise.transfer === null ? 0 : densityAt(noise.hz, noise.transfer.map(({ re, im }) => re * re + im * im), noiseReferenceHz);
  const figure = (ownPower: number, sourcePower: number): number | null => (sourcePower > 0 ? ratioToDecibels(Math.sqrt(1 + ownPower / sourcePower)) : null);
  return {
    bandHz,
    totalVolts: Math.sqrt(square(noise.density)),
    ownVolts: Math.sqrt(ownSquare),
    inputVolts: gainSquare > 0 ? Math.sqrt(ownSquare / gainSquare) : null,
    inputVoltsPerRootHz: gainSquare > 0 ? Math.sqrt(spot(own) / gainSquare) : null,
    noiseFigureDb: figure(ownSquare, square(source)),
    spotNoiseFigureDb: figure(spot(own), spot(source)),
    largest: largestOf(noise, isSource, square, ownSquare).slice(0, count),
  };
}

/** Density of the components that `belongs` names, V²/Hz. */
export function sumOf(noise: CircuitNoise, belongs: (component: string) => boolean): Float64Array {
  const sum = new Float64Array(noise.hz.length);
  for (const { component, density } of noise.contributors) {
    if (!belongs(component)) continue;
    for (let k = 0; k < sum.length; k += 1) sum[k] = sum[k]! + density[k]!;
  }
  return sum;
}

/** A component's sources of one mechanism count as one. */
function largestOf(noise: CircuitNoise, isSource: (component: string) => boolean, square: (density: Float64Array) => number, total: number): NoiseShare[] {
  const squares = new Map<string, { component: string; mechanism: NoiseMechanism; square: number }>();
  for (const { component, mechanism, density } of noise.contributors) {
    if (isSource(component)) continue;
    const key = JSON.stringify([component, mechanism]);
    const before = squares.get(key)?.square ?? 0;
    squares.set(key, { component, mechanism, square: before + square(density) });
  }
  return [...squares.values()]
    .sort((a, b) => b.square - a.square)
    .map(({ component, mechanism, square: alone }) => ({ component, mechanism, share: total > 0 ? alone / total : 0, volts: Math.sqrt(alone) }));
}
