/** The way from output to input, found in what came back of a probe. */
import { besselI, ratioToDecibels, RealFft, sin } from '../math/index.ts';
import { burstFrames, type LoopbackProbe, probeFrames } from './loopback-probe.ts';

export type LoopbackFinding =
  | {
      readonly kind: 'found';
      /** From a frame put out to the same frame taken in, in the middle of the measurement. */
      readonly delayFrames: number;
      /** By how much it grew while it was measured, in millionths: two clocks. */
      readonly driftPpm: number;
      /** Largest distance of a burst from the line through all of them, frames. */
      readonly spreadFrames: number;
      /** Bursts that stood out clearly, of `bursts`. */
      readonly heard: number;
      readonly bursts: number;
      /** By how much the weakest of them stands over the rest of the correlation, dB. */
      readonly standsOutDb: number;
      /** What came back, re what was put out, dB. */
      readonly gainDb: number;
      readonly inverted: boolean;
    }
  | { readonly kind: 'refused'; readonly why: 'silent' | 'clipped' | 'not-found' | 'moved'; readonly sentence: string };

/** A correlation this many times over the rest is no chance: of 24,000 places of noise, one in 3 · 10⁸ would be. */
const leastStandsOut = 6.5;
/** With fewer bursts there is no telling a drift from a jump. */
const leastHeard = 3;
/** Farther than this from one line, and the delay jumped between bursts: audio was late. */
const mostSpreadFrames = 0.5;
/** Clocks differ by less; more is a delay that wanders. */
const mostDriftPpm = 500;
/** Below this there is nothing but the converter's own noise. */
const silentPeak = 1e-6;
/** Neighbours of the peak belong to it: the way's own reverberation and filters. */
const peakSurroundFrames = 32;

interface Arrival {
  readonly startFrame: number;
  readonly delayFrames: number;
  readonly height: number;
  readonly standsOut: number;
}

/**
 * Delay of `recording` against the probe, which began with its first frame; both in frames of one rate. Each burst is correlated with what followed it, and the strongest place, whatever its
 * sign, taken between the samples; then a line through the bursts gives delay and drift. Amplitudes re full scale; `peak` is the probe's. Error without noise under 0.01 frame (band-limited interpolation);
 * a way that turns phases (a loudspeaker) has no one delay: the strongest place is meant.
 * Throws where the recording is shorter than the probe. Method: J. S. Bendat, A. G. Piersol, Random Data, cross-correlation for time delays (from memory).
 */
export function findLoopbackDelay(recording: Float64Array, probe: LoopbackProbe, peak: number): LoopbackFinding {
  if (recording.length < probeFrames(probe)) throw new Error(`loopback: expected ${probeFrames(probe)} recorded frames, got ${recording.length}`);
  const loudest = largestOf(recording);
  if (!Number.isFinite(loudest)) return refused('not-found', 'The input gave something that is not a number: close it, open it and measure again.');
  if (loudest < silentPeak) return refused('silent', 'Nothing came in: the input is silent. See that it is the right one, connected and not muted.');
  if (loudest >= 0.999) return refused('clipped', 'The input overloads: turn its gain down and measure again.');
  const correlator = new BurstCorrelator(probe);
  const arrivals: Arrival[] = [];
  for (let burst = 0; burst < probe.bursts; burst += 1) {
    const arrival = correlator.arrival(recording, burst * probe.spacingFrames);
    if (arrival.standsOut >= leastStandsOut) arrivals.push(arrival);
  }
  // Without the first, what came could be late by a whole burst.
  if (arrivals.length < leastHeard || arrivals[0]!.startFrame > 0) {
    return refused('not-found', `The bursts were not found in what came in within half a second (${arrivals.length} of ${probe.bursts}): join output and input, bring the microphone nearer, or play them louder.`);
  }
  return joined(arrivals, probe, peak);
}

function joined(arrivals: readonly Arrival[], probe: LoopbackProbe, peak: number): LoopbackFinding {
  const { middle, slope, spread } = straightLine(arrivals);
  const delays = arrivals.map(({ delayFrames }) => delayFrames);
  if (spread > mostSpreadFrames || Math.abs(slope) * 1e6 > mostDriftPpm) {
    const [least, most] = [Math.min(...delays), Math.max(...delays)];
    return refused('moved', `The delay moved while it was measured, from ${least.toFixed(1)} to ${most.toFixed(1)} frames: audio came late. Close what else works hard and measure again.`);
  }
  const height = arrivals.reduce((sum, arrival) => sum + arrival.height, 0) / arrivals.length;
  return {
    kind: 'found', delayFrames: middle, driftPpm: slope * 1e6, spreadFrames: spread, heard: arrivals.length, bursts: probe.bursts,
    standsOutDb: ratioToDecibels(Math.min(...arrivals.map(({ standsOut }) => standsOut))), gainDb: ratioToDecibels(Math.abs(height) / peak), inverted: height < 0,
  };
}

/** Least squares: the delay at the mean time, its growth per frame, the largest distance. */
function straightLine(arrivals: readonly Arrival[]): { readonly middle: number; readonly slope: number; readonly spread: number } {
  const count = arrivals.length;
  const middleTime = arrivals.reduce((sum, { startFrame }) => sum + startFrame, 0) / count;
  const middle = arrivals.reduce((sum, { delayFrames }) => sum + delayFrames, 0) / count;
  let covariance = 0;
  let variance = 0;
  for (const { startFrame, delayFrames } of arrivals) {
    covariance += (startFrame - middleTime) * (delayFrames - middle);
    variance += (startFrame - middleTime) * (startFrame - middleTime);
  }
  const slope = covariance / variance;
  const distances = arrivals.map(({ startFrame, delayFrames }) => Math.abs(delayFrames - middle - slope * (startFrame - middleTime)));
  return { middle, slope, spread: Math.max(...distances) };
}

/** Correlates the burst with what follows each of its starts. */
class BurstCorrelator {
  readonly #probe: LoopbackProbe;
  readonly #fft: RealFft;
  readonly #burstRe: Float64Array;
  readonly #burstIm: Float64Array;
  readonly #re: Float64Array;
  readonly #im: Float64Array;
  readonly #work: Float64Array;

  constructor(probe: LoopbackProbe) {
    this.#probe = probe;
    let size = 2;
    // Places before the start, which the interpolation looks at, lie at the end of the circle.
    while (size < probe.spacingFrames + burstFrames + 2 * kernelReach) size *= 2;
    this.#fft = new RealFft(size);
    const bins = size / 2 + 1;
    [this.#burstRe, this.#burstIm, this.#re, this.#im] = [new Float64Array(bins), new Float64Array(bins), new Float64Array(bins), new Float64Array(bins)];
    this.#work = new Float64Array(size);
    this.#work.set(probe.burst);
    this.#fft.forward(this.#work, this.#burstRe, this.#burstIm);
  }

  arrival(recording: Float64Array, startFrame: number): Arrival {
    const { longestDelayFrames, spacingFrames } = this.#probe;
    const correlation = this.#correlate(recording.subarray(startFrame, startFrame + spacingFrames));
    let peakAt = 0;
    for (let k = 1; k < spacingFrames; k += 1) if (Math.abs(correlation[k]!) > Math.abs(correlation[peakAt]!)) peakAt = k;
    const sign = correlation[peakAt]! < 0 ? -1 : 1;
    const summit = summitBetween(correlation, peakAt, sign);
    let energy = 0;
    let count = 0;
    for (let k = 0; k < spacingFrames; k += 1) {
      if (Math.abs(k - peakAt) <= peakSurroundFrames) continue;
      energy += correlation[k]! * correlation[k]!;
      count += 1;
    }
    const rest = Math.sqrt(energy / count);
    // A part of a burst that comes later than is looked for.
    const late = peakAt > longestDelayFrames;
    return { startFrame, delayFrames: summit.at, height: sign * summit.height, standsOut: late || rest === 0 ? 0 : summit.height / rest };
  }

  /** Mean of burst[n] · segment[n + k], for every k; negative k at the end. */
  #correlate(segment: Float64Array): Float64Array {
    const work = this.#work;
    const mean = segment.reduce((sum, sample) => sum + sample, 0) / segment.length;
    work.fill(0);
    for (let i = 0; i < segment.length; i += 1) work[i] = segment[i]! - mean;
    this.#fft.forward(work, this.#re, this.#im);
    for (let bin = 0; bin < this.#re.length; bin += 1) {
      const [a, b, c, d] = [this.#re[bin]!, this.#im[bin]!, this.#burstRe[bin]!, this.#burstIm[bin]!];
      this.#re[bin] = (a * c + b * d) / burstFrames;
      this.#im[bin] = (b * c - a * d) / burstFrames;
    }
    this.#fft.inverse(this.#re, this.#im, work);
    return work;
  }
}

const kernelReach = 24;
const kernelBeta = 9;
const windowTop = besselI(0, kernelBeta);
const finePerFrame = 32;

/** Largest value within a frame of `peakAt`, by windowed sinc at 32 places a frame and a parabola through the best three. `circle` is periodic. */
function summitBetween(circle: Float64Array, peakAt: number, sign: number): { readonly at: number; readonly height: number } {
  let best = 0;
  const fine = Float64Array.from({ length: 2 * finePerFrame + 1 }, (_, i) => sign * between(circle, peakAt, i / finePerFrame - 1));
  for (let i = 1; i < fine.length - 1; i += 1) if (best === 0 || fine[i]! > fine[best]!) best = i;
  const [before, there, after] = [fine[best - 1]!, fine[best]!, fine[best + 1]!];
  const curvature = before - 2 * there + after;
  const shift = curvature < 0 ? (0.5 * (before - after)) / curvature : 0;
  return { at: peakAt + (best + shift) / finePerFrame - 1, height: there - 0.25 * (before - after) * shift };
}

/** Value of a band-limited sequence `offset` frames after `at`, −1 to 1; Kaiser window (J. F. Kaiser 1974). */
function between(circle: Float64Array, at: number, offset: number): number {
  let sum = 0;
  for (let k = -kernelReach; k <= kernelReach; k += 1) {
    const distance = offset - k;
    const share = distance / (kernelReach + 1);
    const weight = distance === 0 ? 1 : (sin(Math.PI * distance) / (Math.PI * distance)) * (besselI(0, kernelBeta * Math.sqrt(1 - share * share)) / windowTop);
    sum += weight * circle[(at + k + circle.length) % circle.length]!;
  }
  return sum;
}

function refused(why: Extract<LoopbackFinding, { kind: 'refused' }>['why'], sentence: string): LoopbackFinding {
  return { kind: 'refused', why, sentence };
}

function largestOf(samples: Float64Array): number {
  let largest = 0;
  for (const sample of samples) {
    if (!Number.isFinite(sample)) return NaN;
    largest = Math.max(largest, Math.abs(sample));
  }
  return largest;
}
