/** WAV files in and out, and the calibration that joins samples and volts. */
export { RecordingError } from './recording-error.ts';
export { frameBytes, highestRateHz, lowestRateHz, sampleBytes, sampleEncodings, type SampleEncoding, type WavFormat, type WavSamples } from './wav-format.ts';
export { decodeSamples, encodeSamples, type EncodeCounts } from './sample-codec.ts';
export { parseWavHeader, parseWholeWav, WavReader, type Recording, type WavHeader } from './wav-reader.ts';
export { encodeWavHeader, encodeWholeWav, paddingBytes } from './wav-writer.ts';
export {
  dbfsToDbu, dbuToDbfs, defaultFullScaleDbu, fromDbu, fullScaleChoicesDbu, fullScalePeakVolts, peakToDbfs, rmsToDbfs, sinePeakFromDbu, sinePeakToDbu,
  toDbu, zeroDbuRmsVolts, type FullScaleDbu,
} from './calibration.ts';
