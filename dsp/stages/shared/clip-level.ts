/** The output level at which a circuit stage clips, from steady states. */
import { chooseFrequency, cosineDrive, harmonicFigures, solveSteadyState } from '../../circuit/index.ts';
import type { SteadyState } from '../../circuit/index.ts';
import type { CircuitStageProgram } from '../contract.ts';
import { dbuToPeakVolts, peakVoltsToDbu } from './levels.ts';

const toneHz = 1000;
const clippingRatio = 0.01;
const orders = [2, 3, 4, 5, 6, 7, 8, 9];
/** Input levels looked at, and how finely the crossing is then found, dB. */
const lowestInputDbu = -20;
const highestInputDbu = 40;
const coarseDb = 4;
const fineDb = 0.1;
/** THD this far above the limit is hard clipping: louder levels are not looked at. */
const hardClippingRatio = 0.1;

interface Look {
  readonly inputDbu: number;
  readonly thd: number;
  readonly outputDbu: number;
}

/**
 * Output level (dBu, make-up included) above which the THD (F, orders 2–9) of a 1 kHz tone stays at 1 % or more: the last upward crossing, so that the
 * crossover of a push-pull pair at low level is not taken for clipping. Null: 1 % is never crossed between −20 and +40 dBu at the input.
 */
export function clipOutputDbu(program: CircuitStageProgram): number | null {
  const frequency = chooseFrequency(toneHz, program.circuit.rateHz);
  let warmStart: SteadyState | undefined;
  const lookAt = (inputDbu: number): Look | null => {
    const input = cosineDrive(frequency, dbuToPeakVolts(inputDbu) * program.inputGain);
    const steady = solveSteadyState(program.circuit, { input, cycles: frequency.cycles }, {
      wantSpectralRadius: false, ...(warmStart === undefined ? {} : { warmStart }),
    });
    if (steady.oscillates) return null;
    warmStart = steady;
    const { thd, fundamental } = harmonicFigures(steady.output, frequency.cycles, orders);
    return { inputDbu, thd: thd.f, outputDbu: peakVoltsToDbu(fundamental.peakVolts * program.outputGain) };
  };
  // Drive is taken off, so that the same circuit levels are looked at however hard it is driven.
  const driveDbu = peakVoltsToDbu(program.inputGain) - peakVoltsToDbu(1);
  let below: Look | null = null;
  let crossing: { below: Look; above: Look } | null = null;
  for (let dbu = lowestInputDbu; dbu <= highestInputDbu; dbu += coarseDb) {
    const look = lookAt(dbu - driveDbu);
    if (look === null) return null;
    if (look.thd < clippingRatio) below = look;
    else if (below !== null) {
      crossing = { below, above: look };
      below = null;
    }
    if (look.thd >= hardClippingRatio && crossing !== null) break;
  }
  if (crossing === null || below !== null) return null;
  let { below: under, above: over } = crossing;
  while (over.inputDbu - under.inputDbu > fineDb) {
    const middle = lookAt((over.inputDbu + under.inputDbu) / 2);
    if (middle === null) return null;
    if (middle.thd < clippingRatio) under = middle;
    else over = middle;
  }
  return under.outputDbu;
}
