/** The memory of one solver handed to another whose circuit has other values, or other parts. */
import type { ChannelMemory } from './channel-memory.ts';

/**
 * 'carried': the stored quantities themselves, so that the circuit then settles as the real one would after its value was turned (a coupling
 * capacitor may take seconds). 'settled': moved by the difference of the two operating points, so that only the signal is carried.
 */
export type CarriedBias = 'carried' | 'settled';

/**
 * From `from` to `to` by component name; a part that is new starts at its operating point. What is carried is the stored quantity (volts,
 * amperes), never z, which depends on the part's value and the step. The next sample of `to` must be a start.
 * Audio thread: allocates nothing, never throws.
 */
export function carryOver(from: ChannelMemory, to: ChannelMemory, bias: CarriedBias): void {
  const { stateNames: newStates, controlNames: newControls, operatingPoint: newPoint } = to.program;
  const { stateNames: oldStates, controlNames: oldControls, operatingPoint: oldPoint } = from.program;
  for (let k = 0; k < newStates.length; k += 1) {
    const old = indexOf(oldStates, newStates[k]!, k);
    let stored = newPoint.stored[k]!;
    if (old >= 0) stored = from.storedQuantity(old) + (bias === 'settled' ? stored - oldPoint.stored[old]! : 0);
    to.signal[1 + k] = stored;
    to.previousStates[k] = stored;
  }
  for (let k = 0; k < newControls.length; k += 1) {
    const old = indexOf(oldControls, newControls[k]!, k);
    let volts = newPoint.controlVolts[k]!;
    if (old >= 0) volts = from.volts[old]! + (bias === 'settled' ? volts - oldPoint.controlVolts[old]! : 0);
    to.volts[k] = volts;
  }
  to.guess(to.volts);
}

/** Position of `name`, tried first at `expected`; −1 if absent. */
function indexOf(names: readonly string[], name: string, expected: number): number {
  if (expected < names.length && names[expected] === name) return expected;
  for (let k = 0; k < names.length; k += 1) if (names[k] === name) return k;
  return -1;
}
