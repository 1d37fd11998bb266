/** A transfer over frequency: level, slope, phase and group delay, from accurate differences. In steps, off the audio thread. */
import { atan2, log2, power, ratioToDecibels } from '../../../math/index.ts';
import type { TransferAt } from '../../path-response.ts';

/** As long as each other; frequencies ascend. */
export interface ResponseCurve {
  readonly hz: readonly number[];
  readonly db: readonly number[];
  readonly dbPerOctave: readonly number[];
  /** Followed from the lowest frequency, where it is within ±180. */
  readonly phaseDegrees: readonly number[];
  readonly groupDelaySeconds: readonly number[];
}

/** A transfer at one frequency and how it leans there. */
export interface ResponseLook {
  readonly db: number;
  readonly dbPerOctave: number;
  /** Within ±180. */
  readonly phaseDegrees: number;
  readonly groupDelaySeconds: number;
}

/**
 * Octaves to either side over which slope and delay are taken. Central differences: their own error is the third derivative times the square of this over six, under 1e-5 of the figure at Q 30; the
 * rounding of the transfers (1e-13) leaves 1e-8 dB/octave, and 0.1 ns of delay at 10 Hz.
 */
const halfStepOctaves = 1e-4;
const lower = power(2, -halfStepOctaves);
const upper = power(2, halfStepOctaves);

const sizeDb = ({ re, im }: { readonly re: number; readonly im: number }): number => ratioToDecibels(Math.sqrt(re * re + im * im));
const degreesPerRadian = 180 / Math.PI;

/** Phase is turned by the ratio of the two neighbours, which is near 1: nothing has to be unwound. */
export function lookAt(transfer: TransferAt, hz: number): ResponseLook {
  const [before, here, after] = transfer([hz * lower, hz, hz * upper]) as readonly [{ re: number; im: number }, { re: number; im: number }, { re: number; im: number }];
  const turn = atan2(after.im * before.re - after.re * before.im, after.re * before.re + after.im * before.im);
  return {
    db: sizeDb(here),
    dbPerOctave: (sizeDb(after) - sizeDb(before)) / (2 * halfStepOctaves),
    phaseDegrees: degreesPerRadian * atan2(here.im, here.re),
    groupDelaySeconds: -turn / (2 * Math.PI * hz * (upper - lower)) + 0,
  };
}

/** Frequencies from … to, equally spaced by ratio, at least so many an octave; both ends among them. */
export function frequencies(fromHz: number, toHz: number, perOctave: number): readonly number[] {
  const count = Math.max(1, Math.ceil(log2(toHz / fromHz) * perOctave - 1e-9));
  return Array.from({ length: count + 1 }, (_, k) => (k === count ? toHz : fromHz * power(toHz / fromHz, k / count)));
}

/** Yields after every frequency what there is so far. */
export function* responseCurve(transfer: TransferAt, hertz: readonly number[]): Generator<ResponseCurve, ResponseCurve> {
  const hz: number[] = [];
  const db: number[] = [];
  const dbPerOctave: number[] = [];
  const phaseDegrees: number[] = [];
  const groupDelaySeconds: number[] = [];
  for (const each of hertz) {
    const look = lookAt(transfer, each);
    const before = phaseDegrees.at(-1);
    hz.push(each);
    db.push(look.db);
    dbPerOctave.push(look.dbPerOctave);
    phaseDegrees.push(before === undefined ? look.phaseDegrees : look.phaseDegrees + 360 * Math.round((before - look.phaseDegrees) / 360));
    groupDelaySeconds.push(look.groupDelaySeconds);
    yield { hz, db, dbPerOctave, phaseDegrees, groupDelaySeconds };
  }
  return { hz, db, dbPerOctave, phaseDegrees, groupDelaySeconds };
}
