/** What a response says about itself: bandwidth, peaks, dips, slope. Brackets come from the curve's own points, places from the transfer. In steps, off the audio thread. */
import { log2, power, ratioToDecibels, summitInSteps } from '../../../math/index.ts';
import type { TransferAt } from '../../path-response.ts';
import { lookAt, type ResponseCurve, type ResponseLook } from './curve.ts';

/** A summit or a hollow. */
export interface Extreme {
  readonly hz: number;
  /** As the curve has it. */
  readonly db: number;
  /** How far it stands above (a dip: below) what the curve falls back to on its nearer side. */
  readonly prominenceDb: number;
}

export interface ReadOuts {
  /** Of 1 kHz. */
  readonly referenceDb: number;
  /** Where it first lies 3 dB below the reference, going down and going up from 1 kHz; null: not in the range. */
  readonly lowerHz: number | null;
  readonly upperHz: number | null;
  /** Most prominent first. */
  readonly peaks: readonly Extreme[];
  readonly dips: readonly Extreme[];
  /** From 20 Hz to 20 kHz, rising positive; null: not in the range. */
  readonly steepest: { readonly hz: number; readonly dbPerOctave: number } | null;
  /** From 20 Hz to 20 kHz, octaves that rise or fall by 3 dB an octave or more. */
  readonly steepOctaves: number;
}

/** Of one of the two curves. */
export interface ResponsePoints {
  /** Null: the analogue circuit is not known. */
  readonly curve: ResponseCurve | null;
  /** Once the curve is whole. */
  readonly readOuts: ReadOuts | null;
}

export const referenceHz = 1000;
/** Half the power. */
const bandEdgeDb = ratioToDecibels(Math.SQRT1_2);
export const steepDbPerOctave = 3;
export const audibleHz = [20, 20_000] as const;
/** Smaller ones are not told. */
const leastProminenceDb = 0.005;
/** Of the logarithm of frequency to base 2. */
const tolerance = 1e-7;
const rounds = 40;

type Place = (hz: number) => ResponseLook;

/** Yields now and then; throws RangeError where nothing comes through at 1 kHz. */
export function* readOuts(transfer: TransferAt, curve: ResponseCurve): Generator<undefined, ReadOuts> {
  const look: Place = (hz) => lookAt(transfer, hz);
  const referenceDb = look(referenceHz).db;
  if (!Number.isFinite(referenceDb)) throw new RangeError('Nothing comes through at 1 kHz: there is no level to refer the response to.');
  yield undefined;
  const edge = (hz: number): number => look(hz).db - referenceDb - bandEdgeDb;
  return {
    referenceDb,
    lowerHz: yield* bandEdge(curve, referenceDb + bandEdgeDb, edge, -1),
    upperHz: yield* bandEdge(curve, referenceDb + bandEdgeDb, edge, 1),
    peaks: yield* extremes(curve, look, 1),
    dips: yield* extremes(curve, look, -1),
    ...(yield* slopes(curve, look)),
  };
}

function* bandEdge({ hz, db }: ResponseCurve, level: number, value: (hz: number) => number, direction: 1 | -1): Generator<undefined, number | null> {
  if (!(hz[0]! <= referenceHz && hz.at(-1)! >= referenceHz)) return null;
  const from = direction > 0 ? hz.findIndex((each) => each > referenceHz) : hz.findLastIndex((each) => each < referenceHz);
  if (from < 0) return null;
  for (let k = from, inner = referenceHz; k >= 0 && k < hz.length; inner = hz[k]!, k += direction) {
    if (db[k]! <= level) return yield* root(value, inner, hz[k]!);
  }
  return null;
}

/** A summit is where the slope goes from rising to falling. */
function* extremes(curve: ResponseCurve, look: Place, sign: 1 | -1): Generator<undefined, readonly Extreme[]> {
  const { hz, dbPerOctave } = curve;
  const found: Extreme[] = [];
  for (let k = 1; k < hz.length; k += 1) {
    if (!(sign * dbPerOctave[k - 1]! > 0 && sign * dbPerOctave[k]! <= 0)) continue;
    const at = yield* root((each) => look(each).dbPerOctave, hz[k - 1]!, hz[k]!);
    const { db } = look(at);
    const prominenceDb = prominence(curve, k, sign * db, sign);
    if (prominenceDb >= leastProminenceDb) found.push({ hz: at, db, prominenceDb });
  }
  return found.sort((a, b) => b.prominenceDb - a.prominenceDb);
}

/** `height` in the sense of `sign`: over the higher of the lowest places on either side before the curve stands higher. */
function prominence({ db }: ResponseCurve, index: number, height: number, sign: 1 | -1): number {
  const foot = (from: number, step: number): number => {
    let least = Infinity;
    for (let k = from; k >= 0 && k < db.length; k += step) {
      if (sign * db[k]! > height) break;
      least = Math.min(least, sign * db[k]!);
    }
    return least;
  };
  const feet = [foot(index - 1, -1), foot(index, 1)].filter(Number.isFinite);
  return feet.length === 0 ? 0 : height - Math.max(...feet);
}

function* slopes({ hz, dbPerOctave }: ResponseCurve, look: Place): Generator<undefined, Pick<ReadOuts, 'steepest' | 'steepOctaves'>> {
  const inside = hz.flatMap((each, k) => (each >= audibleHz[0] && each <= audibleHz[1] ? [k] : []));
  if (inside.length < 2) return { steepest: null, steepOctaves: 0 };
  const steep = (k: number): number => Math.abs(dbPerOctave[k]!);
  const top = inside.reduce((best, k) => (steep(k) > steep(best) ? k : best));
  const ends = [hz[Math.max(inside[0]!, top - 1)]!, hz[Math.min(inside.at(-1)!, top + 1)]!] as const;
  const at = yield* summitInSteps((each) => Math.abs(look(each).dbPerOctave), ends[0], ends[1], 22);
  const refined = { hz: at, dbPerOctave: look(at).dbPerOctave };
  const steepest = Math.abs(refined.dbPerOctave) >= steep(top) ? refined : { hz: hz[top]!, dbPerOctave: dbPerOctave[top]! };
  const over = (each: number): number => Math.abs(look(each).dbPerOctave) - steepDbPerOctave;
  let steepOctaves = 0;
  for (let j = 1; j < inside.length; j += 1) {
    const [a, b] = [inside[j - 1]!, inside[j]!];
    const [aIn, bIn] = [steep(a) >= steepDbPerOctave, steep(b) >= steepDbPerOctave];
    if (aIn && bIn) steepOctaves += log2(hz[b]! / hz[a]!);
    else if (aIn !== bIn) {
      const crossing = yield* root(over, hz[a]!, hz[b]!);
      steepOctaves += aIn ? log2(crossing / hz[a]!) : log2(hz[b]! / crossing);
    }
  }
  // Steep between two points only: the stretch round the steepest place.
  if (steepOctaves === 0 && Math.abs(steepest.dbPerOctave) > steepDbPerOctave) {
    const first = yield* root(over, ends[0], steepest.hz);
    const second = yield* root(over, steepest.hz, ends[1]);
    steepOctaves = log2(second / first);
  }
  return { steepest, steepOctaves };
}

/** Where `value` changes its sign, by false position on the logarithm of frequency (Illinois variant); the ends have different signs. */
export function* root(value: (hz: number) => number, fromHz: number, toHz: number): Generator<undefined, number> {
  let [a, b] = [log2(fromHz), log2(toHz)];
  let [atA, atB] = [value(fromHz), value(toHz)];
  for (let round = 0; round < rounds && Math.abs(b - a) > tolerance && atB !== 0; round += 1) {
    const straight = b - (atB * (b - a)) / (atB - atA);
    const x = straight > Math.min(a, b) && straight < Math.max(a, b) ? straight : (a + b) / 2;
    const atX = value(power(2, x));
    if (atX * atB <= 0) [a, atA] = [b, atB];
    else atA /= 2;
    const moved = Math.abs(x - b);
    [b, atB] = [x, atX];
    yield undefined;
    if (moved < tolerance) break;
  }
  return power(2, b);
}
