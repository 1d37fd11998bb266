/** Several tones in one period. */
import { chooseFrequency } from '../../circuit/index.ts';

/** Longest period that a set of tones may cost. */
const longestFrames = 65_536;
/** Where no such period holds the tones exactly: what each may be off. */
const nearEnough = 1e-5;

export interface CommonPeriod {
  /** Samples of the period. */
  readonly frames: number;
  /** Cycles of each tone in it. */
  readonly cycles: readonly number[];
  /** The frequencies in fact used. */
  readonly hertz: readonly number[];
}

/**
 * The shortest period that holds every tone exactly; where it would be longer than 65,536 samples, the shortest one in which each tone is within 1e-5 of what was asked, else the nearest. Throws RangeError for a
 * frequency that is not between 0 and half the rate.
 */
export function commonPeriod(hertz: readonly number[], rateHz: number): CommonPeriod {
  const each = hertz.map((hz) => chooseFrequency(hz, rateHz));
  if (each.every(({ hz }, k) => hz === hertz[k])) {
    const frames = each.reduce((all, { periodFrames }) => (all / greatestCommonDivisor(all, periodFrames)) * periodFrames, 1);
    if (frames <= longestFrames) return { frames, cycles: each.map(({ cycles, periodFrames }) => cycles * (frames / periodFrames)), hertz };
  }
  let best = { frames: longestFrames, error: Infinity };
  for (let frames = 2; frames <= longestFrames && best.error > nearEnough; frames += 1) {
    const error = worstError(hertz, rateHz / frames);
    if (error < best.error) best = { frames, error };
  }
  const spacingHz = rateHz / best.frames;
  const cycles = hertz.map((hz) => Math.round(hz / spacingHz));
  return { frames: best.frames, cycles, hertz: cycles.map((count) => count * spacingHz) };
}

function worstError(hertz: readonly number[], spacingHz: number): number {
  let worst = 0;
  for (const hz of hertz) worst = Math.max(worst, Math.abs((Math.round(hz / spacingHz) * spacingHz) / hz - 1));
  return worst;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}
