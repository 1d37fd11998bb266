/** How far the sections as they run are from their analogue prototypes. */
import { atan2, power, ratioToDecibels } from '../../math/index.ts';
import type { LinearProgram, StageValues } from '../contract.ts';
import { over, sizeOf } from './complex.ts';
import { bandEdgeAt, bandEdgeHz } from './frequency-map.ts';
import { analogueTransfer, sectionsOf } from './prototype.ts';
import { bandwidthOctaves } from './read-outs.ts';
import { linearTransfer } from './transfer.ts';

export interface MatchError {
  /** Largest difference of level from 20 Hz to 20 kHz (or 0.4536 of a lower rate), dB … */
  readonly db: number;
  /** … and where. */
  readonly hz: number;
  /** Largest difference of phase there, degrees: what follows from all that is missing above half the rate. */
  readonly phaseDegrees: number;
}

const lowestHz = 20;
const spread = 160;
const perBell = 24;

/** Frequencies over the band, close together on the skirts of bells. */
export function listeningHz(values: StageValues, highestHz = bandEdgeHz): readonly number[] {
  const even = Array.from({ length: spread + 1 }, (_, k) => lowestHz * power(highestHz / lowestHz, k / spread));
  const near = sectionsOf(values).flatMap((section) => {
    const octaves = section.kind === 'bell' ? 2 * bandwidthOctaves(section.quality) : 0;
    return octaves === 0 ? [section.hertz] : Array.from({ length: perBell + 1 }, (_, k) => section.hertz * power(2, octaves * (k / perBell - 0.5)));
  });
  return [...even, ...near.filter((hz) => hz > lowestHz && hz < highestHz)].sort((a, b) => a - b);
}

export function matchError(values: StageValues, program: LinearProgram): MatchError {
  const frequencies = listeningHz(values, bandEdgeAt(program.rateHz));
  let worst: MatchError = { db: 0, hz: lowestHz, phaseDegrees: 0 };
  analogueTransfer(values, frequencies).forEach((analogue, k) => {
    const apart = over(linearTransfer(program, frequencies[k]!), analogue);
    const db = ratioToDecibels(sizeOf(apart));
    const phaseDegrees = Math.max(worst.phaseDegrees, Math.abs((180 / Math.PI) * atan2(apart.im, apart.re)));
    worst = Math.abs(db) > Math.abs(worst.db) ? { db, hz: frequencies[k]!, phaseDegrees } : { ...worst, phaseDegrees };
  });
  return worst;
}
