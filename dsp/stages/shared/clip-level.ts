/** The output level at which a circuit stage clips, from steady states. */
import { findClipping } from '../../circuit/index.ts';
import type { CircuitStageProgram } from '../contract.ts';
import { dbuToPeakVolts, peakVoltsToDbu } from './levels.ts';

/** Input levels looked at, and how finely the crossing is then found, dB. Drive is left out, so that the same circuit levels are looked at however hard it is driven. */
const lowestInputDbu = -20;
const highestInputDbu = 40;
const coarseDb = 4;
const fineDb = 0.1;

/**
 * Output level (dBu, make-up included) above which the THD (F, orders 2–9) of a 1 kHz tone stays at 1 % or more: the last upward crossing, so that the
 * crossover of a push-pull pair at low level is not taken for clipping. Null: 1 % is never crossed between −20 and +40 dBu at the circuit's input.
 */
export function clipOutputDbu(program: CircuitStageProgram): number | null {
  const crossing = findClipping(program.circuit, {
    referencePeakVolts: dbuToPeakVolts(0), lowestDb: lowestInputDbu, highestDb: highestInputDbu, coarseDb, fineDb,
  });
  return crossing === null ? null : peakVoltsToDbu(crossing.below.outputPeakVolts * program.outputGain);
}
