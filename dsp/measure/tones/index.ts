// Meters of tones: what they are fed with, and what they read off a record or a spectrum.
export { whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';
export { driveWave, type PeriodicDrive } from './periodic-drive.ts';
export { intermodulationSignal, intermodulationSignals, signalDrive, signalPeriod, type IntermodulationSignal } from './intermodulation-signals.ts';
export { kilohertz, productsOfTwoTones } from './intermodulation-products.ts';
export { meterIntermodulation, readIntermodulation, type IntermodulationReading, type MeasuredProduct } from './intermodulation.ts';
export { steadyTones, type FigureScope, type SteadyTones } from './steady-tones.ts';
export { powerSpectrum } from './power-spectrum.ts';
export { meterDistortion, ordersBelow, type DistortionReading } from './distortion.ts';
export { curvatureOf, type CurvatureFigure } from './transfer-curvature.ts';
export {
  distortionAndNoise, meterDistortionAndNoise, notchPower, notchQ, standardNotch, type DistortionAndNoiseReading,
} from './distortion-and-noise.ts';
export { thirdOctaves } from './third-octaves.ts';
export { multitoneDrive, multitoneSignal, toneCount, type MultitoneSignal } from './multitone-signal.ts';
export { meterMultitone, type MultitoneReading } from './multitone.ts';
export { exponentialSweep, harmonicAdvanceSeconds, sweepSamples, synchronisedSweep, type ExponentialSweep } from './exponential-sweep.ts';
export { sweepResponses } from './sweep-responses.ts';
export { runInTime } from './run-in-time.ts';
export { toneFrequency } from './tone-frequency.ts';
