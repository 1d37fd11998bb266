import { RecordingError } from './recording-error.ts';
import { encodeSamples, type EncodeCounts } from './sample-codec.ts';
import { frameBytes, highestRateHz, lowestRateHz, sampleBytes, type WavSamples } from './wav-format.ts';

const writeName = (view: DataView, offset: number, name: string): void => {
  for (let i = 0; i < 4; i += 1) view.setUint8(offset + i, name.charCodeAt(i));
};

const writeLong = (view: DataView, offset: number, value: number): void => {
  view.setUint32(offset, value % 4_294_967_296, true);
  view.setUint32(offset + 4, Math.floor(value / 4_294_967_296), true);
};

/** Bytes that follow the samples so that the chunk ends on an even byte: 0 or 1, each of value 0. */
export function paddingBytes(samples: WavSamples, frameCount: number): number {
  return (frameCount * frameBytes(samples)) % 2;
}

/**
 * The header of a file of `frameCount` frames: RIFF with a plain format chunk (and a "fact" chunk where samples are floats); RF64 with
 * the sizes in ds64 where RIFF's 32-bit sizes do not reach. The samples follow, then `paddingBytes` zeros. Throws RecordingError.
 */
export function encodeWavHeader(samples: WavSamples, frameCount: number): Uint8Array {
  if (!(Number.isInteger(samples.rateHz) && samples.rateHz >= lowestRateHz && samples.rateHz <= highestRateHz)) {
    throw new RecordingError(`sample rate: expected a whole number of ${lowestRateHz} to ${highestRateHz} Hz, got ${samples.rateHz} Hz`);
  }
  if (!(Number.isInteger(frameCount) && frameCount >= 0)) throw new RecordingError(`frames: expected a whole number ≥ 0, got ${frameCount}`);
  const isFloat = samples.encoding === 'float32' || samples.encoding === 'float64';
  const formatBytes = isFloat ? 18 : 16;
  const factBytes = isFloat ? 12 : 0;
  const dataBytes = frameCount * frameBytes(samples);
  const plainBytes = 12 + 8 + formatBytes + factBytes + 8;
  const isLong = plainBytes - 8 + dataBytes + (dataBytes % 2) > 0xffff_fffe;
  const headerBytes = plainBytes + (isLong ? 36 : 0);
  const riffBytes = headerBytes - 8 + dataBytes + (dataBytes % 2);

  const header = new Uint8Array(headerBytes);
  const view = new DataView(header.buffer);
  writeName(view, 0, isLong ? 'RF64' : 'RIFF');
  view.setUint32(4, isLong ? 0xffff_ffff : riffBytes, true);
  writeName(view, 8, 'WAVE');
  let at = 12;
  if (isLong) {
    writeName(view, at, 'ds64');
    view.setUint32(at + 4, 28, true);
    writeLong(view, at + 8, riffBytes);
    writeLong(view, at + 16, dataBytes);
    writeLong(view, at + 24, frameCount);
    at += 36;
  }
  writeName(view, at, 'fmt ');
  view.setUint32(at + 4, formatBytes, true);
  view.setUint16(at + 8, isFloat ? 3 : 1, true);
  view.setUint16(at + 10, samples.channelCount, true);
  view.setUint32(at + 12, samples.rateHz, true);
  view.setUint32(at + 16, samples.rateHz * frameBytes(samples), true);
  view.setUint16(at + 20, frameBytes(samples), true);
  view.setUint16(at + 22, 8 * sampleBytes(samples.encoding), true);
  at += 8 + formatBytes;
  if (isFloat) {
    writeName(view, at, 'fact');
    view.setUint32(at + 4, 4, true);
    view.setUint32(at + 8, Math.min(frameCount, 0xffff_ffff), true);
    at += 12;
  }
  writeName(view, at, 'data');
  view.setUint32(at + 4, isLong ? 0xffff_ffff : dataBytes, true);
  return header;
}

/** A whole file in memory: header, samples, padding; adds to `counts`. Throws RecordingError. */
export function encodeWholeWav(samples: WavSamples, channels: readonly Float64Array[], counts: EncodeCounts): Uint8Array {
  if (channels.length !== samples.channelCount) throw new RecordingError(`channels: expected ${samples.channelCount}, got ${channels.length}`);
  const frameCount = channels[0]!.length;
  for (const channel of channels) {
    if (channel.length !== frameCount) throw new RecordingError(`channels: expected ${frameCount} frames in each, got ${channel.length}`);
  }
  const header = encodeWavHeader(samples, frameCount);
  const file = new Uint8Array(header.length + frameCount * frameBytes(samples) + paddingBytes(samples, frameCount));
  file.set(header);
  encodeSamples(samples, channels, 0, frameCount, file, header.length, counts);
  return file;
}
