/** What is played to measure the way from output to input, and when: bursts of noise, each followed by enough silence for the longest way. */

const registerBits = 12;

/** Frames of a burst: one period of the sequence. */
export const burstFrames = (1 << registerBits) - 1;

/** Longest way that is looked for, seconds: wireless headphones stay below. */
export const longestDelaySeconds = 0.5;

export interface LoopbackProbe {
  /** ±1. */
  readonly burst: Float64Array;
  readonly bursts: number;
  /** From the start of one burst to that of the next. */
  readonly spacingFrames: number;
  /** Longest way that is looked for. */
  readonly longestDelayFrames: number;
}

/** Four bursts of 4095 frames, half a second and a burst apart: 2.3 s at 48 kHz. */
export function loopbackProbe(rateHz: number): LoopbackProbe {
  const longestDelayFrames = Math.round(longestDelaySeconds * rateHz);
  return { burst: maximumLengthSequence(), bursts: 4, spacingFrames: burstFrames + longestDelayFrames, longestDelayFrames };
}

/** Frames in which the whole probe is played and its return recorded. */
export function probeFrames({ bursts, spacingFrames }: LoopbackProbe): number {
  return bursts * spacingFrames;
}

/**
 * One period of a maximum-length sequence of ±1, 4095 long: all frequencies at one level, and a circular autocorrelation of 4095 at 0 and −1 everywhere else.
 * Shift register with the primitive polynomial x¹² + x⁶ + x⁴ + x + 1 (from memory; the test takes its autocorrelation). Method: S. W. Golomb, Shift Register Sequences, 1967.
 */
function maximumLengthSequence(): Float64Array {
  const sequence = new Float64Array(burstFrames);
  let register = 1;
  for (let i = 0; i < burstFrames; i += 1) {
    sequence[i] = (register & 1) === 1 ? 1 : -1;
    const fed = (register ^ (register >> 1) ^ (register >> 4) ^ (register >> 6)) & 1;
    register = (register >> 1) | (fed << (registerBits - 1));
  }
  return sequence;
}
