import { cosineWindow, RealFft, WINDOW_TERMS } from '../../math/index.ts';

/** Lines are about this far apart: fine enough for the lowest third octave, 4.6 Hz wide. */
const lineHz = 1.5;
/** Windows over every sample. */
const overlap = 4;

export interface WelchLines {
  readonly spacingHz: number;
  /** By signal: mean square of each line. */
  readonly powers: readonly Float64Array[];
  /** By pair: conj(first) × second, in the same scale. */
  readonly crosses: readonly { readonly re: Float64Array; readonly im: Float64Array }[];
}

/**
 * Mean powers and cross powers, line by line, of signals that go round together: half-overlapped Hann windows that start evenly over them and wrap at their end (P. D. Welch 1967, as in `spectrum.ts`),
 * averaged over the channels. `pairs`: indices of signals. Yields after every transform. All signals have the same channels and at least one sample.
 */
export function* welchInSteps(
  signals: readonly (readonly Float64Array[])[], rateHz: number, pairs: readonly (readonly [number, number])[],
): Generator<undefined, WelchLines> {
  const channelCount = signals[0]!.length;
  const frames = signals[0]![0]!.length;
  let size = 2;
  while (rateHz / size > lineHz) size *= 2;
  const lines = size / 2 + 1;
  const fft = new RealFft(size);
  yield undefined;
  const window = cosineWindow(WINDOW_TERMS.hann, size);
  yield undefined;
  const piece = new Float64Array(size);
  const zeros = (): Float64Array => new Float64Array(lines);
  const transforms = signals.map(() => ({ re: zeros(), im: zeros() }));
  const powers = signals.map(zeros);
  const crosses = pairs.map(() => ({ re: zeros(), im: zeros() }));
  const count = Math.max(1, Math.ceil((overlap * frames) / size));
  for (let k = 0; k < count; k += 1) {
    const start = Math.round((k * frames) / count);
    for (let channel = 0; channel < channelCount; channel += 1) {
      for (let s = 0; s < signals.length; s += 1) {
        const samples = signals[s]![channel]!;
        for (let n = 0; n < size; n += 1) piece[n] = window[n]! * samples[(start + n) % frames]!;
        const { re, im } = transforms[s]!;
        fft.forward(piece, re, im);
        const power = powers[s]!;
        for (let line = 0; line < lines; line += 1) power[line] = power[line]! + re[line]! * re[line]! + im[line]! * im[line]!;
        yield undefined;
      }
      for (let p = 0; p < pairs.length; p += 1) addCross(crosses[p]!, transforms[pairs[p]![0]]!, transforms[pairs[p]![1]]!);
    }
  }
  // Mean square of each line by Parseval: two of every pair but at 0 and at half the rate.
  const weight = window.reduce((sum, w) => sum + w * w, 0);
  for (const sums of [...powers, ...crosses.flatMap(({ re, im }) => [re, im])]) {
    for (let line = 0; line < lines; line += 1) sums[line] = (sums[line]! * (line === 0 || line === lines - 1 ? 1 : 2)) / (count * channelCount * size * weight);
  }
  return { spacingHz: rateHz / size, powers, crosses };
}

function addCross(sum: { readonly re: Float64Array; readonly im: Float64Array }, a: { readonly re: Float64Array; readonly im: Float64Array }, b: { readonly re: Float64Array; readonly im: Float64Array }): void {
  for (let line = 0; line < sum.re.length; line += 1) {
    sum.re[line] = sum.re[line]! + a.re[line]! * b.re[line]! + a.im[line]! * b.im[line]!;
    sum.im[line] = sum.im[line]! + a.re[line]! * b.im[line]! - a.im[line]! * b.re[line]!;
  }
}
