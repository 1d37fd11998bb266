/** The memory of one instance handed to another whose circuit has other values, other parts or another step. */
import { coreHistoryLength, retraceCore, reversibleSlope, startCore } from './core-law.ts';
import type { InstanceRunner } from './instance-runner.ts';
import type { CircuitProgram } from './program.ts';

/**
 * 'carried': the stored quantities themselves, so that the circuit then settles as the real one would after its value was turned (a coupling
 * capacitor may take seconds). 'settled': moved by the difference of the two operating points, so that only the signal is carried.
 */
export type CarriedBias = 'carried' | 'settled';

/** Room for what is carried to one instance. */
export interface CarriedValues {
  readonly stored: Float64Array;
  readonly controlVolts: Float64Array;
  /** Of the cores of the new program, and, as long as is needed, of the old. */
  readonly histories: Float64Array;
  readonly oldHistories: Float64Array;
}

/** More cores than this in the old program are carried without their reversals. */
const mostOldCores = 16;

export function roomFor({ topology: { stateCount, controlCount }, coreStates }: CircuitProgram): CarriedValues {
  return {
    stored: new Float64Array(stateCount), controlVolts: new Float64Array(controlCount),
    histories: new Float64Array(coreStates.length * coreHistoryLength), oldHistories: new Float64Array(coreStates.length === 0 ? 0 : mostOldCores * coreHistoryLength),
  };
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
    if (old >= 0) stored = from.storedQuantity(channel, old) * unitsBetween(from.program, old, to.program, k) + (bias === 'settled' ? stored - oldPoint.stored[old]! * unitsBetween(from.program, old, to.program, k) : 0);
    room.stored[k] = stored;
  }
  for (let k = 0; k < newControls.length; k += 1) {
    const old = indexOf(oldControls, newControls[k]!, k);
    let volts = newPoint.controlVolts[k]!;
    if (old >= 0) volts = from.controlVolts(channel, old) + (bias === 'settled' ? volts - oldPoint.controlVolts[old]! : 0);
    room.controlVolts[k] = volts;
  }
  if (to.program.coreStates.length > 0) carryCores(from, to, channel, room);
  to.place(channel, room.stored, room.controlVolts, room.histories);
}

/** What an inductor stores is amperes, what a core does volt-seconds: where one has become the other, the flux of that current, or its current, for small signals at rest. */
function unitsBetween(from: CircuitProgram, old: number, to: CircuitProgram, state: number): number {
  const oldCore = from.coreStates.indexOf(old);
  const newCore = to.coreStates.indexOf(state);
  if ((oldCore < 0) === (newCore < 0)) return 1;
  return newCore < 0 ? slopeAtRest(from, oldCore) : 1 / slopeAtRest(to, newCore);
}

function slopeAtRest({ devices: { cores, parameters, parameterOffsets }, coreStates, operatingPoint }: CircuitProgram, core: number): number {
  return reversibleSlope(parameters, parameterOffsets[cores[core]!]!, operatingPoint.stored[coreStates[core]!]!);
}

/**
 * A core of the same name is led through the reversals of the old one, whatever its values are now. Where its flux has been moved with its operating point, and where it is new, it counts as
 * demagnetised and brought to its flux.
 */
function carryCores(from: InstanceRunner, to: InstanceRunner, channel: number, { stored, histories, oldHistories }: CarriedValues): void {
  const { stateNames: newStates, coreStates, devices: { cores, parameters, parameterOffsets } } = to.program;
  const { stateNames: oldStates, coreStates: oldCores } = from.program;
  const readable = oldCores.length <= mostOldCores;
  if (readable) from.readHistories(channel, oldHistories);
  for (let core = 0; core < coreStates.length; core += 1) {
    const state = coreStates[core]!;
    const at = parameterOffsets[cores[core]!]!;
    startCore(parameters, at, histories, core * coreHistoryLength, stored[state]!);
    if (!readable) continue;
    for (let old = 0; old < oldCores.length; old += 1) {
      if (oldStates[oldCores[old]!] !== newStates[state]) continue;
      if (stored[state] === from.storedQuantity(channel, oldCores[old]!)) retraceCore(parameters, at, oldHistories, old * coreHistoryLength, 0, histories, core * coreHistoryLength);
    }
  }
}

/** Position of `name`, tried first at `expected`; −1 if absent. */
function indexOf(names: readonly string[], name: string, expected: number): number {
  if (expected < names.length && names[expected] === name) return expected;
  for (let k = 0; k < names.length; k += 1) if (names[k] === name) return k;
  return -1;
}
