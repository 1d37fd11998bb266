/** How stages name what makes harmonics in them. */
import type { CircuitRemoval, DevicePart } from '../../circuit/index.ts';
import type { Mechanism } from '../contract.ts';

interface MechanismText {
  readonly id: string;
  readonly label: string;
  readonly sentence: string;
}

const without = (text: MechanismText, ...of: readonly CircuitRemoval[]): Mechanism => ({ ...text, removal: { kind: 'circuit', of } });

/** Whole devices become their tangents at rest. */
export const linearDevices = (text: MechanismText, ...names: readonly string[]): Mechanism => without(text, { kind: 'tangent', devices: names.map((name) => ({ name })) });

/** One part of the law of each of these devices becomes its tangent at rest. */
export const linearPart = (text: MechanismText, part: DevicePart, ...names: readonly string[]): Mechanism =>
  without(text, { kind: 'tangent', devices: names.map((name) => ({ name, part })) });

/** A part of some devices together with whole others: transistors that saturate and the diodes of a limiter, say. */
export const linearPartAndDevices = (text: MechanismText, part: DevicePart, names: readonly string[], devices: readonly string[]): Mechanism =>
  without(text, { kind: 'tangent', devices: [...names.map((name) => ({ name, part })), ...devices.map((name) => ({ name }))] });

const listed = (names: readonly string[]): string => (names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)!}`);

/** The exponential of some transistors, cut-off with it. */
export const exponential = (id: string, label: string, ...names: readonly string[]): Mechanism => linearPart({
  id, label,
  sentence: `The current of ${listed(names)} follows the base–emitter voltage along its tangent at rest: no exponential, no cut-off.`,
}, 'exponential', ...names);

export const earlyEffect = (id: string, label: string, ...names: readonly string[]): Mechanism => linearPart({
  id, label,
  sentence: `The collector voltage of ${listed(names)} acts through a constant output resistance, not on the current that flows: no product of the two.`,
}, 'early', ...names);

export const saturation = (id: string, label: string, ...names: readonly string[]): Mechanism => linearPart({
  id, label,
  sentence: `${listed(names)} without ${names.length > 1 ? 'their base–collector junctions' : 'its base–collector junction'}: collectors may pass the rail.`,
}, 'saturation', ...names);

export const biasShift = (...capacitors: readonly string[]): Mechanism => without({
  id: 'bias-shift', label: 'bias shift',
  sentence: `${listed(capacitors)} ${capacitors.length > 1 ? 'keep their voltages' : 'keeps its voltage'} at rest, so that no mean current moves the bias; ${capacitors.length > 1 ? 'their corners' : 'its corner'} at low frequencies ${capacitors.length > 1 ? 'are' : 'is'} gone with that.`,
}, { kind: 'hold', capacitors });

/** The core of a winding. */
export const coreOfWinding = (name: string): Mechanism => linearDevices({
  id: 'core', label: `core of ${name}`,
  sentence: `The core of ${name} becomes its linear inductance at rest: no hysteresis, no saturation.`,
}, name);

/** What a light amplifier does (`op-amp-block.ts`); of several the names tell them apart. */
export function opAmpMechanisms(names: readonly string[]): Mechanism[] {
  return names.flatMap((name) => {
    const suffix = names.length > 1 ? `-${name.toLowerCase()}` : '';
    return [
      linearDevices({ id: `slewing${suffix}`, label: `slewing input pair of ${name}`, sentence: `The input pair of ${name} steers without limit along its slope at rest: no tanh, no slew rate.` }, `${name} pair`),
      linearDevices({ id: `rails${suffix}`, label: `rails: ${name} clips`, sentence: `The diodes that stop ${name} short of its rails are taken away.` }, `${name} upper clamp`, `${name} lower clamp`),
      linearDevices({ id: `current-limit${suffix}`, label: `current limit of ${name}`, sentence: `The output of ${name} is its resistance at rest: it delivers any current.` }, `${name} output`),
    ];
  });
}
