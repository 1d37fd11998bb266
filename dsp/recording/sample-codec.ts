import { sampleBytes, type SampleEncoding, type WavSamples } from './wav-format.ts';

/** What encoding had to give up, added up over calls. */
export interface EncodeCounts {
  /** Samples beyond what the encoding holds, written as its nearest end. */
  clippedSamples: number;
  /** Samples that were not a number, written as 0. */
  notNumberSamples: number;
}

/**
 * Decodes interleaved frames into one array a channel, at `outputFrame`.
 *
 * PCM code c becomes c / 2^(bits − 1), exactly; floats are taken as they stand, infinities and NaN included. Allocates one DataView.
 */
export function decodeSamples(samples: WavSamples, bytes: Uint8Array, byteOffset: number, output: readonly Float64Array[], outputFrame: number, frames: number): void {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const step = sampleBytes(samples.encoding);
  const stride = step * samples.channelCount;
  const decodeOne = decoders[samples.encoding];
  for (let channel = 0; channel < samples.channelCount; channel += 1) {
    const out = output[channel]!;
    let at = byteOffset + channel * step;
    for (let i = 0; i < frames; i += 1, at += stride) out[outputFrame + i] = decodeOne(view, at);
  }
}

const decoders: Readonly<Record<SampleEncoding, (view: DataView, at: number) => number>> = {
  pcm16: (view, at) => view.getInt16(at, true) / 32_768,
  pcm24: (view, at) => (view.getUint16(at, true) + view.getInt8(at + 2) * 65_536) / 8_388_608,
  pcm32: (view, at) => view.getInt32(at, true) / 2_147_483_648,
  float32: (view, at) => view.getFloat32(at, true),
  float64: (view, at) => view.getFloat64(at, true),
};

/**
 * Encodes frames of one array a channel into interleaved bytes at `byteOffset`.
 *
 * PCM: x · 2^(bits − 1), rounded to the nearest code, halves away from zero, no dither; codes beyond the ends are clipped and counted
 * (+1 itself is one code beyond). float32 is the nearest single; a finite value beyond its range becomes ± infinity and is counted.
 * NaN is written as 0 and counted, because its bits differ between engines; −0 is written as +0. Adds to `counts`.
 */
export function encodeSamples(samples: WavSamples, input: readonly Float64Array[], inputFrame: number, frames: number, bytes: Uint8Array, byteOffset: number, counts: EncodeCounts): void {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const step = sampleBytes(samples.encoding);
  const stride = step * samples.channelCount;
  const encodeOne = encoders[samples.encoding];
  for (let channel = 0; channel < samples.channelCount; channel += 1) {
    const from = input[channel]!;
    let at = byteOffset + channel * step;
    for (let i = 0; i < frames; i += 1, at += stride) {
      let sample = from[inputFrame + i]! + 0;
      if (sample !== sample) {
        counts.notNumberSamples += 1;
        sample = 0;
      }
      encodeOne(view, at, sample, counts);
    }
  }
}

const encoders: Readonly<Record<SampleEncoding, (view: DataView, at: number, sample: number, counts: EncodeCounts) => void>> = {
  pcm16: (view, at, sample, counts) => view.setInt16(at, toCode(sample, 32_768, counts), true),
  pcm24: (view, at, sample, counts) => {
    const code = toCode(sample, 8_388_608, counts);
    view.setUint16(at, code & 0xffff, true);
    view.setInt8(at + 2, code >> 16);
  },
  pcm32: (view, at, sample, counts) => view.setInt32(at, toCode(sample, 2_147_483_648, counts), true),
  float32: (view, at, sample, counts) => {
    const single = Math.fround(sample);
    if (Math.abs(single) === Infinity && Math.abs(sample) !== Infinity) counts.clippedSamples += 1;
    view.setFloat32(at, single, true);
  },
  float64: (view, at, sample) => view.setFloat64(at, sample, true),
};

/** Nearest code of `sample`, halves away from zero, held within −scale … scale − 1. */
function toCode(sample: number, scale: number, counts: EncodeCounts): number {
  const scaled = sample * scale;
  const whole = Math.trunc(scaled);
  // The fraction is exact, where adding one half first would round 0.49999999999999994 up.
  const code = Math.abs(scaled - whole) >= 0.5 ? whole + Math.sign(scaled) : whole;
  if (code >= -scale && code <= scale - 1) return code;
  counts.clippedSamples += 1;
  return code < 0 ? -scale : scale - 1;
}
