/**
 * The steady state by waiting: where shooting finds no periodic solution. Never the first choice: a clipping stage with ordinary coupling capacitors
 * is 5 dB wrong in its third harmonic after 30 periods.
 */
import { ratioToDecibels } from '../math/index.ts';
import { projectHarmonics } from './frequency.ts';
import type { PeriodRun } from './period-run.ts';

const fewestPeriods = 200;
const mostPeriods = 5000;
/** Of a long period no more than fit into so many samples, but the fewest: what never settles must end some time. */
const mostSamples = 2e7;
const periodsBetween = 10;
const settledDb = 0.001;
/** Harmonics further below the largest than this are rounding and are not waited for: −150 dB. */
const floorRatio = 3e-8;
const judgedOrders = [1, 2, 3, 4, 5];

/**
 * Runs from the operating point until harmonics 1 to 5 of the period move by less than 0.001 dB in ten periods, 200 to 5,000 periods in all. True: they did.
 * A period holds `cycles` cycles. Leaves the last period in `run`; yields between periods.
 */
export function* settle(run: PeriodRun, cycles: number): Generator<void, boolean> {
  run.startAtRest();
  let before: Float64Array | null = null;
  const last = Math.min(mostPeriods, Math.max(fewestPeriods + periodsBetween, Math.floor(mostSamples / run.output.length)));
  for (let period = 1; period <= last; period += 1) {
    if (period > 1) run.advance();
    if (!run.run()) return false;
    yield;
    if (period % periodsBetween === 0) {
      const { amplitudes } = projectHarmonics(run.output, cycles, judgedOrders);
      if (period >= fewestPeriods && before !== null && !moved(before, amplitudes)) return true;
      before = amplitudes;
    }
  }
  return false;
}

function moved(before: Float64Array, after: Float64Array): boolean {
  const largest = after.reduce((peak, amplitude) => Math.max(peak, amplitude), 0);
  return after.some((amplitude, k) => amplitude > floorRatio * largest && !(Math.abs(ratioToDecibels(amplitude / before[k]!)) < settledDb));
}
