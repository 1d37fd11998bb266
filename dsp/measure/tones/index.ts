// Meters of tones: what they are fed with, and what they read off a record or a spectrum.
export { whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';
export { readLines, type LineReader } from './line-reader.ts';
export { commonPeriod, type CommonPeriod } from './common-period.ts';
export { driveWave, scaledDrive, type DriveLine, type PeriodicDrive } from './periodic-drive.ts';
export { intermodulationSignal, intermodulationSignals, signalDrive, signalPeriod, type IntermodulationMethod, type IntermodulationSignal } from './intermodulation-signals.ts';
export { kilohertz, productsOfSquareAndSine, productsOfTwoTones, type Product } from './intermodulation-products.ts';
export { meterIntermodulation, readIntermodulation, type IntermodulationFigure, type IntermodulationReading, type MeasuredProduct } from './intermodulation.ts';
export { steadyTones, type FigureScope, type SteadyTones, type TonesOscillation } from './steady-tones.ts';
export { powerSpectrum, type PowerSpectrum } from './power-spectrum.ts';
export { meterDistortion, ordersBelow, readDistortion, type DistortionReading } from './distortion.ts';
export { curvatureOf, type CurvatureFigure } from './transfer-curvature.ts';
export {
  distortionAndNoise, meterDistortionAndNoise, notchPower, notchQ, standardNotch, type DistortionAndNoiseReading, type NoiseAndDistortion, type ToneAndNoise,
} from './distortion-and-noise.ts';
export { thirdOctaves, type ThirdOctave } from './third-octaves.ts';
export { multitoneDrive, multitoneSignal, toneCount, type MultitoneSignal } from './multitone-signal.ts';
export { meterMultitone, type MultitoneReading } from './multitone.ts';
export { exponentialSweep, harmonicAdvanceSeconds, sweepSamples, synchronisedSweep, type ExponentialSweep } from './exponential-sweep.ts';
export { sweepResponses, type SweepResponse } from './sweep-responses.ts';
export { runInTime } from './run-in-time.ts';
export { toneFrequency } from './tone-frequency.ts';
