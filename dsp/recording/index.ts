/** WAV, AIFF and FLAC in, WAV out, and the calibration that joins samples and volts. */
export { RecordingError } from './recording-error.ts';
export { frameBytes, highestRateHz, lowestRateHz, sampleBytes, sampleEncodings, type RecordingFormat, type SampleEncoding, type WavFormat, type WavSamples } from './wav-format.ts';
export { decodeSamples, encodeSamples, type EncodeCounts } from './sample-codec.ts';
export { compressedRateHz } from './compressed-rate.ts';
export { OverviewMaker, overviewColumns, overviewPeak, type Overview } from './overview.ts';
export { AnyReader, parseWholeRecording, type Recording } from './any-reader.ts';
export type { Landmark, RecordingReader } from './recording-reader.ts';
export { parseWavHeader, WavReader, type WavHeader } from './wav-reader.ts';
export { encodeWavHeader, encodeWholeWav, paddingBytes } from './wav-writer.ts';
export {
  dbfsToDbu, dbuToDbfs, defaultFullScaleDbu, fromDbu, fullScaleChoicesDbu, fullScalePeakVolts, peakToDbfs, rmsToDbfs, sinePeakFromDbu, sinePeakToDbu,
  toDbu, zeroDbuRmsVolts, type FullScaleDbu,
} from './calibration.ts';
