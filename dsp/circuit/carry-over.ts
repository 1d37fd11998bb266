/** The memory of one instance handed to another whose circuit has other values, other parts or another step. */
import type { InstanceRunner } from './instance-runner.ts';

/**
 * 'carried': the stored quantities themselves, so that the circuit then settles as the real one would after its value was turned (a coupling
 * capacitor may take seconds). 'settled': moved by the difference of the two operating points, so that only the signal is carried.
 */
export type CarriedBias = 'carried' | 'settled';

/** Room for what is carried to one instance. */
export interface CarriedValues {
  readonly stored: Float64Array;
  readonly controlVolts: Float64Array;
}

/**
 * One channel from `from` to `to` by component name; a part that is new starts at its operating point. What is carried is the stored quantity (volts,
 * amperes), never z, which depends on the part's value and the step. The next sample of `to` must be a start. `room` is that of `to`'s program.
 * Audio thread: allocates nothing, never throws.
 */
export function carryOver(from: InstanceRunner, to: InstanceRunner, channel: number, bias: CarriedBias, room: CarriedValues): void {
  const { stateNames: newStates, controlNames: newControls, operatingPoint: newPoint } = to.program;
  const { stateNames: oldStates, controlNames: oldControls, operatingPoint: oldPoint } = from.program;
  for (let k = 0; k < newStates.length; k += 1) {
    const old = indexOf(oldStates, newStates[k]!, k);
    let stored = newPoint.stored[k]!;
    if (old >= 0) stored = from.storedQuantity(channel, old) + (bias === 'settled' ? stored - oldPoint.stored[old]! : 0);
    room.stored[k] = stored;
  }
  for (let k = 0; k < newControls.length; k += 1) {
    const old = indexOf(oldControls, newControls[k]!, k);
    let volts = newPoint.controlVolts[k]!;
    if (old >= 0) volts = from.controlVolts(channel, old) + (bias === 'settled' ? volts - oldPoint.controlVolts[old]! : 0);
    room.controlVolts[k] = volts;
  }
  to.place(channel, room.stored, room.controlVolts);
}

/** Position of `name`, tried first at `expected`; −1 if absent. */
function indexOf(names: readonly string[], name: string, expected: number): number {
  if (expected < names.length && names[expected] === name) return expected;
  for (let k = 0; k < names.length; k += 1) if (names[k] === name) return k;
  return -1;
}
