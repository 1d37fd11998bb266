import { LoudnessMeter } from './loudness.ts';
import { TruePeakMeter } from './true-peak.ts';

/** Figures of a whole recording. */
export interface Loudness {
  /** Gated, K-weighted, over all channels; −∞ below −70 LUFS throughout, or for less than 400 ms. */
  readonly integratedLufs: number;
  /** Largest magnitude four times oversampled, over all channels; 0 dB is full scale. */
  readonly truePeakDb: number;
  readonly samplePeakDb: number;
}

/** Loudness and peaks of one array a channel (mono and stereo: front channels). Samples before the first and after the last count as 0. */
export function measureLoudness(channels: readonly Float64Array[], rateHz: number): Loudness {
  const frames = channels[0]?.length ?? 0;
  const meter = new LoudnessMeter(rateHz, channels.length);
  const peak = new TruePeakMeter(channels.length);
  meter.push(channels, 0, frames);
  peak.push(channels, 0, frames);
  peak.finish();
  return { integratedLufs: meter.integratedLufs(), truePeakDb: peak.truePeakDb, samplePeakDb: peak.samplePeakDb };
}
