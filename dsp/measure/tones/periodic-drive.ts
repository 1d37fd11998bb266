/** A periodic drive of several lines, and one period of it. */
import { cosineTable } from '../../circuit/index.ts';
import { cos, sin } from '../../math/index.ts';

export interface DriveLine {
  /** Cycles in the period. */
  readonly cycles: number;
  readonly peakVolts: number;
  /** Relative to a cosine. */
  readonly phaseRadians: number;
}

export interface PeriodicDrive {
  readonly rateHz: number;
  /** Samples of the period. */
  readonly frames: number;
  readonly lines: readonly DriveLine[];
}

/** One period in volts: Σ peak · cos(2π cycles i / frames + phase). Lines at or above half the rate have no place in it: RangeError. */
export function driveWave({ frames, lines }: PeriodicDrive): Float64Array {
  const table = cosineTable(frames);
  const sines = Float64Array.from(table, (_, i) => sin((2 * Math.PI * i) / frames));
  const wave = new Float64Array(frames);
  for (const { cycles, peakVolts, phaseRadians } of lines) {
    if (!(cycles > 0 && 2 * cycles < frames)) throw new RangeError(`drive: expected 1 to ${Math.ceil(frames / 2) - 1} cycles in ${frames} samples, got ${cycles}`);
    const [along, across] = [peakVolts * cos(phaseRadians), peakVolts * sin(phaseRadians)];
    let index = 0;
    for (let i = 0; i < frames; i += 1) {
      wave[i] = wave[i]! + along * table[index]! - across * sines[index]!;
      index += cycles;
      if (index >= frames) index -= frames;
    }
  }
  return wave;
}
