/** The upper end of a band: resonant peak, gain at 20 kHz, corner; and which line lengths give a wanted peak. Frequencies are looked at from 1 kHz, where the gain counts as that of the band. */
import { exp, log } from '../../math/index.ts';
import type { Ladder } from './ladder.ts';
import { ladderGainDb } from './ladder.ts';

/** Gain in dB at a frequency. */
export type GainDb = (hz: number) => number;

export interface ResonantPeak {
  /** Above the gain at 1 kHz, dB. */
  readonly db: number;
  readonly hz: number;
}

const referenceHz = 1000;
const highestHz = 2e6;
const stepsPerDecade = 30;
const decadeWidth = log(10);
/** A rise smaller than this is no peak, dB. */
const leastPeakDb = 1e-3;

/** Highest point above 1 kHz, found on a grid of 30 steps a decade and narrowed to 1e-5 of the frequency; null where the gain only falls. */
export function resonantPeak(gainDb: GainDb): ResonantPeak | null {
  const bandDb = gainDb(referenceHz);
  const steps = Math.round((stepsPerDecade * log(highestHz / referenceHz)) / decadeWidth);
  const hzAt = (k: number): number => referenceHz * exp((k / stepsPerDecade) * decadeWidth);
  let best = 0;
  let bestDb = bandDb;
  for (let k = 1; k <= steps; k += 1) {
    const db = gainDb(hzAt(k));
    if (db > bestDb) [best, bestDb] = [k, db];
  }
  if (best === 0) return null;
  const hz = highestPoint(gainDb, hzAt(best - 1), hzAt(best + 1));
  const db = gainDb(hz) - bandDb;
  return db >= leastPeakDb ? { db, hz } : null;
}

/** Golden section on the logarithm of the frequency. */
function highestPoint(gainDb: GainDb, lowHz: number, highHz: number): number {
  const share = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [log(lowHz), log(highHz)];
  let [c, d] = [b - share * (b - a), a + share * (b - a)];
  let [atC, atD] = [gainDb(exp(c)), gainDb(exp(d))];
  while (b - a > 1e-5) {
    if (atC > atD) {
      [b, d, atD] = [d, c, atC];
      c = b - share * (b - a);
      atC = gainDb(exp(c));
    } else {
      [a, c, atC] = [c, d, atD];
      d = a + share * (b - a);
      atD = gainDb(exp(d));
    }
  }
  return exp((a + b) / 2);
}

/** The frequency above 1 kHz from which the gain stays 3.01 dB under that at 1 kHz; null: above 2 MHz, if at all. */
export function upperCornerHz(gainDb: GainDb): number | null {
  const limitDb = gainDb(referenceHz) - 10 * (log(2) / decadeWidth);
  let [low, high] = [referenceHz, highestHz];
  if (gainDb(high) > limitDb) return null;
  // From above, so that a dip before a peak is not taken for the end of the band.
  for (let hz = highestHz; hz > referenceHz; hz /= 1.1) {
    if (gainDb(hz) > limitDb) {
      low = hz;
      break;
    }
    high = hz;
  }
  while (high / low > 1 + 1e-6) {
    const middle = Math.sqrt(high * low);
    if (gainDb(middle) > limitDb) low = middle;
    else high = middle;
  }
  return low;
}

/** A line length that gives a wanted peak. */
export interface LineLength {
  readonly metres: number;
  readonly peakHz: number;
  /** Above the gain at 1 kHz. */
  readonly gainAt20kHzDb: number;
  /** Whether the peak lies under 30 kHz, near enough to the band to be heard in it. */
  readonly heard: boolean;
}

/** Peaks under this are preferred: they act inside the band. */
export const preferredPeakHz = 30e3;
const [shortestMetres, longestMetres] = [0.5, 3000];
const lengthsPerDecade = 12;

/**
 * All line lengths from 0.5 to 3000 m at which the resonance of `ladderOf(metres)` stands `peakDb` above the gain at 1 kHz, shortest first. There may be none, one, or two: undamped into a bridging load
 * the peak falls with the length; into 600 Ω, or with a damper, it first rises. Lengths to 1e-4 of themselves; a pair nearer than a fifth of an octave to one another is missed.
 */
export function lineLengthsForPeak(ladderOf: (metres: number) => Ladder, peakDb: number): readonly LineLength[] {
  const peakAt = (metres: number): ResonantPeak | null => {
    const ladder = ladderOf(metres);
    return resonantPeak((hz) => ladderGainDb(ladder, hz));
  };
  const excessDb = (metres: number): number => (peakAt(metres)?.db ?? 0) - peakDb;
  const steps = Math.round((lengthsPerDecade * log(longestMetres / shortestMetres)) / decadeWidth);
  const metresAt = (k: number): number => shortestMetres * exp((k / lengthsPerDecade) * decadeWidth);
  const found: LineLength[] = [];
  let before = excessDb(metresAt(0));
  for (let k = 1; k <= steps; k += 1) {
    const here = excessDb(metresAt(k));
    if (before > 0 !== here > 0) {
      let [low, high] = [metresAt(k - 1), metresAt(k)];
      while (high / low > 1 + 1e-4) {
        const middle = Math.sqrt(low * high);
        if (excessDb(middle) > 0 === before > 0) low = middle;
        else high = middle;
      }
      const metres = Math.sqrt(low * high);
      const ladder = ladderOf(metres);
      const peak = peakAt(metres);
      if (peak !== null) {
        const gainAt20kHzDb = ladderGainDb(ladder, 20e3) - ladderGainDb(ladder, referenceHz);
        found.push({ metres, peakHz: peak.hz, gainAt20kHzDb, heard: peak.hz < preferredPeakHz });
      }
    }
    before = here;
  }
  return found;
}
