/** Where a circuit clips: the level of a 1 kHz tone at which its distortion reaches 1 %, by steady states. Off the audio thread. */
import { decibelsToRatio } from '../math/index.ts';
import { cosineDrive } from './frequency.ts';
import { figuresOfProjection } from './measure-circuit.ts';
import type { CircuitProgram } from './program.ts';
import { steadyHarmonics } from './steady-harmonics.ts';
import { solveSteadyState } from './steady-state.ts';
import type { SteadyState } from './steady-state.ts';

const toneHz = 1000;
const orders = [2, 3, 4, 5, 6, 7, 8, 9];
const clippingRatio = 0.01;
/** THD this far above the limit is hard clipping: louder levels are not looked at. */
const hardClippingRatio = 0.1;

/** Levels in dB against `referencePeakVolts` at the circuit's input. */
export interface ClippingSearch {
  readonly referencePeakVolts: number;
  readonly lowestDb: number;
  readonly highestDb: number;
  /** Where looking begins, upwards; only if it clips there already are lower levels looked at. Default: the lowest. */
  readonly firstDb?: number;
  /** Distance of the levels looked at first, and to what the crossing is then bisected. */
  readonly coarseDb: number;
  readonly fineDb: number;
}

export interface ClippingLook {
  readonly levelDb: number;
  /** F, orders 2–9. */
  readonly thd: number;
  /** Of the fundamental at the circuit's output. */
  readonly outputPeakVolts: number;
}

/**
 * The two levels between which the THD of a tone of about 1 kHz (a whole number of samples long) rises through 1 % and stays above: the last upward crossing, so that the crossover of a push-pull
 * pair at low level is not taken for clipping. Null: there is none in the range, or no steady state is found.
 */
export function findClipping(program: CircuitProgram, search: ClippingSearch): { readonly below: ClippingLook; readonly above: ClippingLook } | null {
  const periodFrames = Math.max(1, Math.round(program.rateHz / toneHz));
  const frequency = { cycles: 1, periodFrames, hz: program.rateHz / periodFrames };
  let warmStart: SteadyState | undefined;
  const lookAt = (levelDb: number): ClippingLook | null => {
    const input = cosineDrive(frequency, search.referencePeakVolts * decibelsToRatio(levelDb));
    const steady = solveSteadyState(program, { input }, { wantSpectralRadius: false, settleIfLost: false, ...(warmStart === undefined ? {} : { warmStart }) });
    if (steady.oscillates) return null;
    warmStart = steady;
    const { thd, fundamental } = figuresOfProjection(steadyHarmonics(steady, 1, [1, ...orders]), orders);
    return { levelDb, thd: thd.f, outputPeakVolts: fundamental.peakVolts };
  };
  const { lowestDb, highestDb, coarseDb, firstDb = lowestDb } = search;
  let below: ClippingLook | null = null;
  let crossing: { below: ClippingLook; above: ClippingLook } | null = null;
  let first: ClippingLook | null = null;
  for (let levelDb = firstDb; levelDb <= highestDb; levelDb += coarseDb) {
    const look = lookAt(levelDb);
    if (look === null) return null;
    first ??= look;
    if (look.thd < clippingRatio) below = look;
    else if (below !== null) {
      crossing = { below, above: look };
      below = null;
    }
    if (look.thd >= hardClippingRatio && crossing !== null) break;
  }
  if (below !== null) return null;
  // All of them clip, or suffer from crossover.
  for (let above = first; crossing === null && above !== null && above.levelDb - coarseDb >= lowestDb;) {
    const look = lookAt(above.levelDb - coarseDb);
    if (look === null) return null;
    if (look.thd < clippingRatio) crossing = { below: look, above };
    above = look;
  }
  if (crossing === null) return null;
  while (crossing.above.levelDb - crossing.below.levelDb > search.fineDb) {
    const middle = lookAt((crossing.above.levelDb + crossing.below.levelDb) / 2);
    if (middle === null) return null;
    if (middle.thd < clippingRatio) crossing.below = middle;
    else crossing.above = middle;
  }
  return crossing;
}
