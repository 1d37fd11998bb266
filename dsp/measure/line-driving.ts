/**
 * The fair comparison of ways to drive a line: direct with its build-out alone, direct with the series resistance that a transformer would have, and through the transformer, with and without its
 * damper. Measured on the circuits of the line stage: exact response and input impedance, not the formulas its readings are made of.
 */
import { assembleCircuit, exactResponse, findOperatingPoint, inputImpedance } from '../circuit/index.ts';
import type { Complex } from '../circuit/index.ts';
import { ratioToDecibels } from '../math/index.ts';
import { dbuToPeakVolts, resonantPeak, stageById, upperCornerHz } from '../stages/index.ts';
import type { ResonantPeak, StageValues } from '../stages/index.ts';

export const lineDrivingWays = ['direct', 'direct, same resistance', 'transformer', 'transformer, damped'] as const;
export type LineDrivingWay = (typeof lineDrivingWays)[number];

const wired: Readonly<Record<LineDrivingWay, StageValues>> = {
  direct: { driving: 'direct' },
  'direct, same resistance': { driving: 'direct-same-resistance' },
  transformer: { driving: 'transformer', damper: 'off' },
  'transformer, damped': { driving: 'transformer', damper: 'on' },
};

export interface CurrentLimit {
  readonly limitAmperes: number;
  /** Of the driver's own voltage, where a 20 kHz sine takes this current at its peak. */
  readonly levelDbu: number;
}

export interface LineDriving {
  readonly way: LineDrivingWay;
  /** From the driver's voltage to the far end at 1 kHz; negative: a loss. */
  readonly gainDb: number;
  /** Against 1 kHz. */
  readonly at20HzDb: number;
  readonly at20kHzDb: number;
  /** Null: the response only falls. */
  readonly peak: ResonantPeak | null;
  readonly upperCornerHz: number | null;
  /** At 20 kHz and the level asked. */
  readonly driverPeakAmperes: number;
  readonly limits: readonly CurrentLimit[];
}

export interface LineDrivingRequest {
  /** Level of the driver's own voltage, dBu. Default +24. */
  readonly levelDbu?: number;
  /** Default 20, 30, 50, 80 and 120 mA. */
  readonly limitsAmperes?: readonly number[];
}

const drivenHz = 20e3;
const size = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);

/** Circuit and operating point of the line driven one way. */
function lineDriven(values: StageValues, way: LineDrivingWay) {
  const system = assembleCircuit(stageById('line').circuit({ ...values, ...wired[way] }, null)!);
  const point = findOperatingPoint(system);
  const gainDb = (hz: number): number => ratioToDecibels(size(exactResponse(system, point, [hz])[0]!));
  return { system, point, gainDb };
}

/** From the driver's voltage to the far end, dB, driven one way. Off the audio thread. */
export function lineDrivingGainDb(values: StageValues, way: LineDrivingWay): (hz: number) => number {
  return lineDriven(values, way).gainDb;
}

/** All ways for the line, load and transformer of `values` (resolved values of the stage "line"); what they say of driving and damper is not looked at. Off the audio thread; a few milliseconds. */
export function compareLineDriving(values: StageValues, { levelDbu = 24, limitsAmperes = [0.02, 0.03, 0.05, 0.08, 0.12] }: LineDrivingRequest = {}): readonly LineDriving[] {
  return lineDrivingWays.map((way) => {
    const { system, point, gainDb } = lineDriven(values, way);
    const bandDb = gainDb(1000);
    const amperesPerVolt = 1 / size(inputImpedance(system, point, [drivenHz])[0]!);
    return {
      way, gainDb: bandDb, at20HzDb: gainDb(20) - bandDb, at20kHzDb: gainDb(20e3) - bandDb,
      peak: resonantPeak(gainDb), upperCornerHz: upperCornerHz(gainDb),
      driverPeakAmperes: amperesPerVolt * dbuToPeakVolts(levelDbu),
      limits: limitsAmperes.map((limitAmperes) => ({ limitAmperes, levelDbu: ratioToDecibels(limitAmperes / (amperesPerVolt * dbuToPeakVolts(0))) })),
    };
  });
}
