import { cos, SeededRandom, sin } from '../../dsp/math/index.ts';

const lowestHz = 500;
const highestHz = 2000;
const settledSeconds = 0.1;

/**
 * Noise for a sound-level meter to read: white noise through a high-pass at 500 Hz and a low-pass at 2 kHz, two poles each (Butterworth, by
 * the bilinear transform), where the A curve is within 3 dB of 0 and a room has too many modes for one to stand out. That noise reads steadier
 * than a tone is common practice, no source. Always the same noise. Audio thread: `fill` allocates nothing, never throws.
 */
export class ReferenceNoise {
  readonly #random = new SeededRandom(1);
  readonly #highPass: Float64Array;
  readonly #lowPass: Float64Array;
  /** Two states of the high-pass, two of the low-pass. */
  readonly #states = new Float64Array(4);
  readonly #gain: number;

  /** @param rms of what `fill` gives; 1 is a full-scale constant */
  constructor(rms: number, rateHz: number) {
    this.#highPass = butterworth(lowestHz, rateHz, -1);
    this.#lowPass = butterworth(highestHz, rateHz, 1);
    // Mean square behind a filter: that of the white noise, a third, times the energy of the impulse response.
    let energy = 0;
    for (let i = 0; i < settledSeconds * rateHz; i += 1) energy += this.#next(i === 0 ? 1 : 0) ** 2;
    this.#states.fill(0);
    this.#gain = rms / Math.sqrt(energy / 3);
  }

  fill(output: Float64Array, frames: number): void {
    for (let i = 0; i < frames; i += 1) output[i] = this.#gain * this.#next(2 * this.#random.nextUnit() - 1);
  }

  #next(x: number): number {
    const states = this.#states;
    return section(this.#lowPass, states, 2, section(this.#highPass, states, 0, x));
  }
}

/** b0, b1, b2, a1, a2 of two poles with Q = 1/√2; `sign` 1: low-pass, −1: high-pass. */
function butterworth(hz: number, rateHz: number, sign: 1 | -1): Float64Array {
  const angle = (2 * Math.PI * hz) / rateHz;
  const alpha = sin(angle) / Math.SQRT2;
  const a0 = 1 + alpha;
  const b0 = (1 - sign * cos(angle)) / 2 / a0;
  return Float64Array.of(b0, 2 * sign * b0, b0, (-2 * cos(angle)) / a0, (1 - alpha) / a0);
}

function section(c: Float64Array, states: Float64Array, at: number, x: number): number {
  const y = c[0]! * x + states[at]!;
  states[at] = c[1]! * x - c[3]! * y + states[at + 1]!;
  states[at + 1] = c[2]! * x - c[4]! * y;
  return y;
}
