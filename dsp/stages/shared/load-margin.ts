/** What a line's capacitance does to the stability of the amplifier before it. */
import { atan } from '../../math/index.ts';

/** A feedback amplifier as far as its margin with a capacitive load goes. */
export interface FeedbackAmplifier {
  readonly unityGainHz: number;
  readonly noiseGain: number;
  /** Of its output stage, without the loop. */
  readonly outputOhms: number;
  /** Of the second pole, without a load. */
  readonly secondPoleHz: number;
}

export interface LoadMargin {
  /** Where the loop gain is 1. */
  readonly crossoverHz: number;
  readonly phaseMarginDegrees: number;
}

/**
 * Margin of an amplifier whose feedback is taken before `buildOutOhms`, with `farads` behind it: loop gain fT / (noise gain · jf), the second pole, and the load's pole 1 / (2π (ro + R) C) with its zero
 * 1 / (2π R C). Elementary (common practice, no source). At 0 Ω, the bare amplifier, there is no zero.
 */
export function capacitiveLoadMargin(amplifier: FeedbackAmplifier, farads: number, buildOutOhms: number): LoadMargin {
  const poleSeconds = 2 * Math.PI * (amplifier.outputOhms + buildOutOhms) * farads;
  const zeroSeconds = 2 * Math.PI * buildOutOhms * farads;
  const secondSeconds = 1 / amplifier.secondPoleHz;
  const over = (seconds: number, hz: number): number => Math.sqrt(1 + seconds * hz * seconds * hz);
  const loopGain = (hz: number): number => (amplifier.unityGainHz / (amplifier.noiseGain * hz)) * (over(zeroSeconds, hz) / (over(poleSeconds, hz) * over(secondSeconds, hz)));
  let [low, high] = [1, 10 * amplifier.unityGainHz];
  while (high / low > 1 + 1e-9) {
    const middle = Math.sqrt(low * high);
    if (loopGain(middle) > 1) low = middle;
    else high = middle;
  }
  const degrees = 180 / Math.PI;
  return { crossoverHz: low, phaseMarginDegrees: 90 + degrees * (atan(zeroSeconds * low) - atan(poleSeconds * low) - atan(secondSeconds * low)) };
}
