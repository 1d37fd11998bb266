/** What a curve of level over frequency says about itself. Every function takes the curve as a function, dB of Hz, and looks at it over octaves. */
import { log2, power, summitInSteps } from '../../math/index.ts';

export type Curve = (hz: number) => number;

/** Where to look, and at how many places before refining. */
export interface Look {
  readonly fromHz: number;
  readonly toHz: number;
  readonly points: number;
}

export interface SlopeRead {
  readonly hz: number;
  /** Rising positive. */
  readonly dbPerOctave: number;
}

export interface LevelRead {
  readonly hz: number;
  readonly db: number;
}

/** From … to, Hz. */
export type Stretch = readonly [fromHz: number, toHz: number];

/** Half of the step slopes are taken over, octaves: their own error is the third derivative times its square over six, some 1e-7 dB/octave at Q 30. */
const halfStep = 1e-5;
const lower = power(2, -halfStep);
const upper = power(2, halfStep);

/** dB an octave at a frequency. */
export const slopeAt = (curve: Curve, hz: number): number => (curve(hz * upper) - curve(hz * lower)) / (2 * halfStep);

const octaves = ({ fromHz, toHz }: Look): number => log2(toHz / fromHz);
const placesOf = (look: Look): number[] => Array.from({ length: look.points }, (_, k) => look.fromHz * power(2, (octaves(look) * k) / (look.points - 1)));

/** The place near the middle of three where `value` is largest. */
function refined(value: Curve, around: Stretch): number {
  const search = summitInSteps(value, around[0], around[1], 40);
  let step = search.next();
  while (!step.done) step = search.next();
  return step.value;
}

function largestOf(value: Curve, look: Look): number {
  const places = placesOf(look);
  let best = 0;
  const values = places.map(value);
  for (let k = 1; k < values.length; k += 1) if (values[k]! > values[best]!) best = k;
  if (best === 0 || best === places.length - 1) return places[best]!;
  return refined(value, [places[best - 1]!, places[best + 1]!]);
}

/** The steepest place, falling or rising. */
export function steepest(curve: Curve, look: Look): SlopeRead {
  const hz = largestOf((place) => Math.abs(slopeAt(curve, place)), look);
  return { hz, dbPerOctave: slopeAt(curve, hz) };
}

/** The highest place (`sign` 1) or the lowest (−1). */
export function extreme(curve: Curve, sign: 1 | -1, look: Look): LevelRead {
  const hz = largestOf((place) => sign * curve(place), look);
  return { hz, db: curve(hz) };
}

/** Where the curve rises or falls by at least so many dB an octave. */
export function steepStretches(curve: Curve, leastDbPerOctave: number, look: Look): readonly Stretch[] {
  const over: Curve = (hz) => Math.abs(slopeAt(curve, hz)) - leastDbPerOctave;
  // A stretch shorter than the places are apart is found by its steepest place.
  const places = [...placesOf(look), steepest(curve, look).hz].sort((a, b) => a - b);
  const stretches: Stretch[] = [];
  let start: number | null = null;
  places.forEach((hz, k) => {
    const inside = over(hz) >= 0;
    if (inside && start === null) start = k === 0 ? hz : crossing(over, places[k - 1]!, hz);
    if (!inside && start !== null) {
      stretches.push([start, crossing(over, places[k - 1]!, hz)]);
      start = null;
    }
  });
  if (start !== null) stretches.push([start, look.toHz]);
  return stretches;
}

/** Together, octaves. */
export const octavesOf = (stretches: readonly Stretch[]): number => stretches.reduce((sum, [from, to]) => sum + log2(to / from), 0);

/** Where `value` changes its sign. */
function crossing(value: Curve, fromHz: number, toHz: number): number {
  let [low, high] = [fromHz, toHz];
  const atLow = value(low) >= 0;
  for (let round = 0; round < 50; round += 1) {
    const middle = Math.sqrt(low * high);
    if (value(middle) >= 0 === atLow) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}
