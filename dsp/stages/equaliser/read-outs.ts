/** What each section does, from its analogue prototype. */
import { decibelsToRatio, log, log1p, power, ratioToDecibels } from '../../math/index.ts';
import { extreme, octavesOf, steepest, steepStretches } from '../shared/response-read-outs.ts';
import type { Curve, LevelRead, Look, SlopeRead, Stretch } from '../shared/response-read-outs.ts';
import { sizeOf } from './complex.ts';
import { prototypeOf, prototypeTransfer } from './prototype.ts';
import type { Bell, Section, Shelf } from './prototype.ts';

/** Steepness commonly wanted of a shelf, dB/octave (common practice, no source): below it a shelf acts as a broad tilt. */
export const wantedDbPerOctave = 3;
/** Dips smaller than this are none, dB. */
const leastDipDb = 1e-4;

export const sectionCurve = (section: Section): Curve => {
  const prototype = prototypeOf(section);
  return (hz) => ratioToDecibels(sizeOf(prototypeTransfer(prototype, hz)));
};

export interface ShelfReadOuts {
  readonly steepest: SlopeRead;
  /** Where its slope is at least `wantedDbPerOctave`. */
  readonly steep: readonly Stretch[];
  readonly steepOctaves: number;
  /** Against the shelf's own direction, at its foot; null: none. */
  readonly undershoot: LevelRead | null;
  /** Beyond the shelf's own level; `db` is what is too much. Null: none. */
  readonly overshoot: LevelRead | null;
  /** Where it has half its decibels. */
  readonly halfGainHz: number;
}

/** Ten octaves to either side hold all that a shelf does. */
const shelfLook = ({ hertz }: Shelf): Look => ({ fromHz: hertz / 1024, toHz: hertz * 1024, points: 241 });

export function shelfReadOuts(shelf: Shelf): ShelfReadOuts {
  const curve = sectionCurve(shelf);
  const look = shelfLook(shelf);
  const steep = steepStretches(curve, wantedDbPerOctave, look);
  const sign = shelf.db < 0 ? -1 : 1;
  const foot = extreme(curve, sign === 1 ? -1 : 1, look);
  const top = extreme(curve, sign, look);
  const beyond = top.db - shelf.db;
  return {
    steepest: steepest(curve, look), steep, steepOctaves: octavesOf(steep),
    undershoot: sign * foot.db < -leastDipDb ? foot : null,
    overshoot: sign * beyond > leastDipDb ? { hz: top.hz, db: beyond } : null,
    halfGainHz: halfGainHz(shelf, curve),
  };
}

/** At turnover by symmetry where pole and zero have one Q. */
function halfGainHz(shelf: Shelf, curve: Curve): number {
  if (shelf.order !== 'second-apart' || shelf.db === 0) return shelf.hertz;
  const rising = (shelf.kind === 'high-shelf') === (shelf.db > 0);
  let [low, high] = [shelf.hertz / 32, shelf.hertz * 32];
  for (let round = 0; round < 50; round += 1) {
    const middle = Math.sqrt(low * high);
    if (curve(middle) < shelf.db / 2 === rising) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}

export interface BellReadOuts {
  /** Half-gain points. */
  readonly edges: Stretch;
  readonly bandwidthOctaves: number;
  /** Of the poles: what rings. */
  readonly poleQuality: number;
  /** Time in which its ringing falls by 60 dB; null where the poles do not ring. */
  readonly ringingSeconds: number | null;
}

/** asinh for x ≥ 0, without cancellation. */
const inverseSinh = (x: number): number => log1p(x + (x * x) / (1 + Math.sqrt(1 + x * x)));

/** Bandwidth in octaves between half-gain points: 1/Q = 2 sinh(ln 2/2 · octaves) (cookbook). */
export const bandwidthOctaves = (quality: number): number => (2 / log(2)) * inverseSinh(1 / (2 * quality));

/** An envelope e^(−π f0 t/Q) falls by 60 dB in ln(1000)/π · Q/f0 = 2.2 Q/f0. */
export const ringingSeconds = (poleQuality: number, hertz: number): number => ((log(1000) / Math.PI) * poleQuality) / hertz;

export function bellReadOuts({ hertz, db, quality }: Bell): BellReadOuts {
  const half = 1 / (2 * quality);
  const ratio = half + Math.sqrt(1 + half * half);
  const poleQuality = decibelsToRatio(db / 2) * quality;
  return {
    edges: [hertz / ratio, hertz * ratio], bandwidthOctaves: bandwidthOctaves(quality), poleQuality,
    ringingSeconds: poleQuality > 0.5 ? ringingSeconds(poleQuality, hertz) : null,
  };
}

/** The steepest place of a bell's skirts, on the lower side. */
export function bellSteepest(bell: Bell): SlopeRead {
  const octaves = 4 * bandwidthOctaves(bell.quality);
  return steepest(sectionCurve(bell), { fromHz: bell.hertz * power(2, -octaves), toHz: bell.hertz, points: 161 });
}
