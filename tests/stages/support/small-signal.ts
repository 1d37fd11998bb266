/** Readings and small-signal figures of one stage. */
import { assembleCircuit, exactResponse, findOperatingPoint } from '../../../dsp/circuit/index.ts';
import { resolveValues, stageById } from '../../../dsp/stages/index.ts';
import type { StageReport, StageValues } from '../../../dsp/stages/index.ts';
import { rateHz } from './tone.ts';

export function reportOf(id: string, given: StageValues = {}): StageReport {
  const stage = stageById(id);
  const values = resolveValues(stage, given);
  return stage.report(values, stage.program(values, { rateHz, source: null }));
}

export function readingOf(id: string, label: string, given: StageValues = {}): number {
  const found = reportOf(id, given).readings.find((reading) => reading.label === label);
  if (found === undefined) throw new Error(`${id}: expected a reading "${label}"`);
  return found.value;
}

/** Gain of the stage's circuit alone, dB, drive and make-up left out. */
export function gainsDb(id: string, given: StageValues, hertz: readonly number[]): number[] {
  const stage = stageById(id);
  const system = assembleCircuit(stage.circuit(resolveValues(stage, given), null)!);
  return exactResponse(system, findOperatingPoint(system), hertz).map(({ re, im }) => 20 * Math.log10(Math.hypot(re, im)));
}

export function expectNear(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected} within ${limit}, got ${actual}`);
}
