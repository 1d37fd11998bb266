// The ladder: a half-band filter for each doubling of the rate, designed for the base rate it starts from.
import { decibelsToRatio } from '../math/index.ts';
import { smallestAllPassHalfBand } from './half-band-elliptic.ts';
import { shortestHalfBand } from './half-band-equiripple.ts';

export type LadderKind = 'linear-phase' | 'minimum-latency';
export type LadderFactor = 1 | 2 | 4 | 8 | 16;

/** One doubling. Plain data. */
export type LadderStage =
  | { readonly kind: 'linear-phase'; readonly sideTaps: Float64Array }
  | { readonly kind: 'minimum-latency'; readonly firstPath: Float64Array; readonly secondPath: Float64Array };

/** A ladder as plain data: it can be posted to another thread and run there. */
export interface LadderDesign {
  readonly kind: LadderKind;
  readonly baseRateHz: number;
  readonly factor: LadderFactor;
  /** Upper edge of the pass band: 20 kHz, below 44.1 kHz in proportion to the base rate (20/44.1 of it). */
  readonly passBandHz: number;
  /** From the base rate upwards; empty for factor 1. */
  readonly stages: readonly LadderStage[];
  /** Delay of the up ladder in internal frames: exact for linear phase; else the group delay at low frequency, not whole. */
  readonly upLatencyFrames: number;
  /** Delay of the down ladder in internal frames, without the padding; as above. */
  readonly downLatencyFrames: number;
  /** Extra delay before the down ladder, in internal frames, that makes the sum whole base frames; not whole for minimum latency. */
  readonly padFrames: number;
  /** Up, padding and down together, in base frames. */
  readonly latencyBaseFrames: number;
}

const LOWEST_BASE_RATE_HZ = 8000;
const HIGHEST_BASE_RATE_HZ = 384000;
const PASS_BAND_HZ = 20000;
const PASS_BAND_OF_RATE = 20000 / 44100;
/** 130 dB are asked of the ladder; 2 dB more, since the images of several stages may meet. */
const ATTENUATION_DB = 132;
const CACHE_LIMIT = 64;

const cache = new Map<string, LadderDesign>();

/**
 * Designs the ladder between a base rate and factor times that rate.
 *
 * Pass band to `passBandHz` within ±0.001 dB up and down together; images of it and aliases into it at least 130 dB down. The first
 * stage's stop band is the mirror of the pass band about half the base rate; it is the steeper, and the longer, the nearer
 * 20 kHz lies to half the rate. Later stages pass everything up to half the base rate, so that what lies above the pass band
 * has no images either. Designs are computed from formulas, kept, and shared: treat them as read-only.
 * Throws for a base rate outside 8 … 384 kHz or another factor.
 */
export function designLadder(baseRateHz: number, factor: LadderFactor, kind: LadderKind): LadderDesign {
  if (!(baseRateHz >= LOWEST_BASE_RATE_HZ && baseRateHz <= HIGHEST_BASE_RATE_HZ)) {
    throw new Error(`base rate: expected ${LOWEST_BASE_RATE_HZ} to ${HIGHEST_BASE_RATE_HZ} Hz, got ${baseRateHz}`);
  }
  if (![1, 2, 4, 8, 16].includes(factor)) throw new Error(`oversampling factor: expected 1, 2, 4, 8 or 16, got ${factor}`);
  const key = `${baseRateHz} ${factor} ${kind}`;
  const known = cache.get(key);
  if (known !== undefined) return known;
  const design = kind === 'linear-phase' ? linearPhaseLadder(baseRateHz, factor) : minimumLatencyLadder(baseRateHz, factor);
  if (cache.size >= CACHE_LIMIT) cache.clear();
  cache.set(key, design);
  return design;
}

/** Pass-band edges of the stages, each as a fraction of the stage's upper rate. */
function passEdges(baseRateHz: number, passBandHz: number, factor: number): number[] {
  const edges: number[] = [];
  for (let ratio = 2; ratio <= factor; ratio *= 2) edges.push(ratio === 2 ? passBandHz / (2 * baseRateHz) : 0.5 / ratio);
  return edges;
}

function passBand(baseRateHz: number): number {
  return Math.min(PASS_BAND_HZ, PASS_BAND_OF_RATE * baseRateHz);
}

function linearPhaseLadder(baseRateHz: number, factor: LadderFactor): LadderDesign {
  const passBandHz = passBand(baseRateHz);
  const stages = passEdges(baseRateHz, passBandHz, factor).map((edge) => {
    const { sideTaps } = shortestHalfBand(ATTENUATION_DB, edge, decibelsToRatio(-ATTENUATION_DB));
    return { kind: 'linear-phase' as const, sideTaps };
  });
  // A filter of 4m + 3 taps delays by 2m + 1 frames of its upper rate, the same up and down.
  let latency = 0;
  stages.forEach((stage, i) => { latency += (2 * stage.sideTaps.length - 1) * (factor >> (i + 1)); });
  const latencyBaseFrames = Math.ceil(2 * latency / factor);
  return {
    kind: 'linear-phase', baseRateHz, factor, passBandHz, stages, upLatencyFrames: latency, downLatencyFrames: latency,
    padFrames: latencyBaseFrames * factor - 2 * latency, latencyBaseFrames,
  };
}

function minimumLatencyLadder(baseRateHz: number, factor: LadderFactor): LadderDesign {
  const passBandHz = passBand(baseRateHz);
  const stages = passEdges(baseRateHz, passBandHz, factor).map((edge) => {
    const { coefficients } = smallestAllPassHalfBand(ATTENUATION_DB, edge);
    return { kind: 'minimum-latency' as const, firstPath: coefficients.filter((_, i) => i % 2 === 0), secondPath: coefficients.filter((_, i) => i % 2 === 1) };
  });
  let up = 0;
  let down = 0;
  stages.forEach((stage, i) => {
    const delay = lowFrequencyDelay(stage.firstPath, stage.secondPath);
    up += delay * (factor >> (i + 1));
    // The decimator's output is taken at the later of its two input frames: one upper-rate frame less.
    down += (delay - 1) * (factor >> (i + 1));
  });
  // The fraction of a frame is a first-order all-pass, which needs half a frame to be well damped.
  const latencyBaseFrames = factor === 1 ? 0 : Math.ceil((up + down + 0.5) / factor);
  return {
    kind: 'minimum-latency', baseRateHz, factor, passBandHz, stages, upLatencyFrames: up, downLatencyFrames: down,
    padFrames: latencyBaseFrames * factor - up - down, latencyBaseFrames,
  };
}

/** Group delay at zero frequency in upper-rate frames: the mean of both paths; a section delays by 2 (1 − α)/(1 + α). */
function lowFrequencyDelay(firstPath: Float64Array, secondPath: Float64Array): number {
  let sum = 1;
  for (const path of [firstPath, secondPath]) for (const alpha of path) sum += 2 * (1 - alpha) / (1 + alpha);
  return sum / 2;
}
