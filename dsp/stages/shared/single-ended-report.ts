/** Readings the three single-ended stages share. */
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, StageReading, StageValues } from '../contract.ts';
import type { CircuitAnalysis } from './analysis.ts';
import type { StageDescription } from './circuit-stage.ts';
import { dbuToPeakVolts, lineLevelDbu } from './levels.ts';
import { parallel } from './small-signal.ts';
import { numbersOf } from './values.ts';

/** A way in which the output stops following, and the peak it allows, V at the load. */
export interface SwingLimit {
  readonly name: string;
  readonly peakVolts: number;
}

/** Below this there is nothing left to swing, V. */
const noSwingVolts = 1e-3;

/** The device's own `first` readings, then gain at 1 kHz, headroom, pad and impedances, in the margin's order. */
export function describeSingleEnded(
  values: StageValues, program: CircuitStageProgram, analysis: CircuitAnalysis, first: readonly StageReading[], limits: readonly SwingLimit[],
): StageDescription {
  const v = numbersOf(values);
  const series = v('padSeriesOhms');
  const shunt = v('padShuntOhms');
  const nearest = limits.reduce((least, limit) => (limit.peakVolts < least.peakVolts ? limit : least));
  const swings = nearest.peakVolts > noSwingVolts;
  const readings: readonly StageReading[] = [
    ...first,
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive, pad and make-up included',
    },
    ...(!swings ? [] : [{
      label: 'headroom to rail', value: ratioToDecibels(nearest.peakVolts / dbuToPeakVolts(lineLevelDbu)), quantity: 'gain' as const, unit: 'dB',
      note: `above +4 dBu at the load, before make-up; ${nearest.name} comes first`,
    }]),
    { label: 'pad', value: ratioToDecibels(shunt / (series + shunt)), quantity: 'gain', unit: 'dB', note: 'RP2 over RP1 + RP2, unloaded' },
    { label: 'source resistance', value: parallel(series, shunt), quantity: 'resistance', unit: 'Ω', note: 'RP1 and RP2 in parallel, as the stage sees them' },
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  return { readings, remarks: swings ? [] : [{ label: 'headroom to rail', words: `none: ${nearest.name} at rest already` }] };
}
