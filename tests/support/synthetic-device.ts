// A device whose every coefficient is known: what the meters must find in it is a closed form.
import { driveWave, type PeriodicDrive } from '../../dsp/measure/tones/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';

export interface SyntheticDevice {
  /** y = Σ coefficients[n] xⁿ, n = 0 … 9: DC, gain, square law, and on. */
  readonly coefficients: readonly number[];
  /** White noise that it adds: rms over the whole band up to half the rate. */
  readonly noiseRms?: number;
}

/** y of every x, with noise of this seed. */
export function passThrough({ coefficients, noiseRms = 0 }: SyntheticDevice, input: Float64Array, seed = 20261126): Float64Array {
  const random = new SeededRandom(seed);
  return input.map((x) => {
    let y = 0;
    for (let n = coefficients.length - 1; n >= 0; n -= 1) y = y * x + coefficients[n]!;
    return noiseRms === 0 ? y : y + noiseRms * random.nextGaussian();
  });
}

/** One period of its output for a periodic drive. */
export function drivenPeriod(device: SyntheticDevice, drive: PeriodicDrive): Float64Array {
  return passThrough(device, driveWave(drive));
}

/** Signed amplitudes of cos(k t), k = 0 … 9, that it makes of A cos t: cosⁿ t = 2^(1−n) Σ C(n, j) cos((n − 2j) t), the middle term halved. */
export function harmonicsOf({ coefficients }: SyntheticDevice, peak: number): number[] {
  const amplitudes = new Array<number>(10).fill(0);
  coefficients.forEach((coefficient, n) => {
    for (let j = 0; 2 * j <= n; j += 1) {
      const share = n === 2 * j ? 2 ** -n * binomial(n, j) : 2 ** (1 - n) * binomial(n, j);
      amplitudes[n - 2 * j] = amplitudes[n - 2 * j]! + coefficient * peak ** n * share;
    }
  });
  return amplitudes;
}

function binomial(n: number, k: number): number {
  let product = 1;
  for (let i = 1; i <= k; i += 1) product = (product * (n - k + i)) / i;
  return product;
}
