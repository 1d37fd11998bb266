/** Signals for kernels: two channels that have nothing to do with each other, one of which sends a circuit into the rescue while the other rests in the tangent. */
import { SeededRandom } from '../../../dsp/math/index.ts';

/** Left: `peakVolts` of music with noise and now and then a click; right: hardly anything, then squares. */
export function unlikeChannels(frames: number, peakVolts: number, seed: number): readonly [Float64Array, Float64Array] {
  const random = new SeededRandom(seed);
  const left = Float64Array.from({ length: frames }, (_, n) => {
    const click = random.nextUnit() < 0.02 ? 20 * peakVolts * random.nextGaussian() : 0;
    return peakVolts * (0.7 * Math.sin(n / 61) + 0.2 * Math.sin(n / 7.3) + 0.1 * random.nextGaussian()) + click;
  });
  const right = Float64Array.from({ length: frames }, (_, n) => {
    if (n % 400 < 200) return 1e-6 * Math.sin(n / 40);
    return n % 38 < 19 ? 3 * peakVolts : -3 * peakVolts;
  });
  return [left, right];
}
