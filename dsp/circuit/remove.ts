/** A circuit without some of what bends in it. */
import { assembleCircuit } from './assemble.ts';
import type { BipolarTransistor, CircuitDocument, Component, DeviceComponent, NodePair } from './components.ts';
import { CircuitError } from './document-errors.ts';
import { groundNode } from './document.ts';
import { keptPieces, pieceNames } from './kept-pieces.ts';
import type { KeptPieces } from './kept-pieces.ts';
import { findOperatingPoint } from './operating-point.ts';
import type { OperatingPoint } from './operating-point.ts';
import type { CircuitRemoval, DevicePart } from './removal.ts';
import type { CircuitSystem } from './system.ts';

/** A circuit at rest, as it is before anything is taken away; found once for several removals. */
export interface CircuitAtRest {
  readonly document: CircuitDocument;
  readonly system: CircuitSystem;
  readonly point: OperatingPoint;
}

/** Throws `CircuitError` for a circuit without an operating point. */
export function circuitAtRest(document: CircuitDocument): CircuitAtRest {
  const system = assembleCircuit(document);
  return { document, system, point: findOperatingPoint(system) };
}

/** Every one of these devices as its tangent: transconductors and constant currents with the same operating point and the same small signals; cores as inductors. */
export function linearised(document: CircuitDocument, names: readonly string[]): CircuitDocument {
  return withoutParts(circuitAtRest(document), [{ kind: 'tangent', devices: names.map((name) => ({ name })) }]);
}

/**
 * The circuit without `removals`, at the same operating point. Names of components get `prefix` (a circuit that is joined to others). Taking away what is taken away already changes nothing.
 * Throws `CircuitError` where a name is none of the circuit's.
 */
export function withoutParts(rest: CircuitAtRest, removals: readonly CircuitRemoval[], prefix = ''): CircuitDocument {
  const { document } = rest;
  const parts = new Map<string, Set<DevicePart> | 'all'>();
  const held = new Set<string>();
  for (const removal of removals) {
    if (removal.kind === 'hold') for (const name of removal.capacitors) held.add(prefix + name);
    else for (const { name, part } of removal.devices) addPart(parts, prefix + name, part);
  }
  refuseUnknown(document, [...parts.keys()], [...held]);
  let device = -1;
  const knownRest: Record<string, number> = Object.fromEntries(rest.system.nodeNames.map((name) => [name, rest.point.nodeVolts(name)]));
  const components = document.components.flatMap((component): readonly Component[] => {
    if (isDevice(component)) {
      device += 1;
      const [owner, role] = ownerOf(component, parts);
      if (owner === null) return [component];
      const { standing, restVolts } = withoutDevice(rest, component, { index: device, name: owner, role }, parts.get(owner)!);
      Object.assign(knownRest, restVolts);
      return standing;
    }
    if (component.kind === 'capacitor' && held.has(component.name)) {
      const [a, b] = component.between;
      return [{ kind: 'voltage-source', name: `${component.name} held`, between: component.between, volts: rest.point.nodeVolts(a) - rest.point.nodeVolts(b) }];
    }
    return [component];
  });
  return { ...document, components, knownRest };
}

function addPart(parts: Map<string, Set<DevicePart> | 'all'>, name: string, part: DevicePart | undefined): void {
  const before = parts.get(name);
  if (part === undefined) parts.set(name, 'all');
  else if (before !== 'all') parts.set(name, (before ?? new Set()).add(part));
}

const deviceKinds: ReadonlySet<string> = new Set([
  'diode', 'bipolar', 'forward-bipolar', 'field-effect', 'forward-field-effect', 'triode', 'tanh-transconductor', 'product-transconductor', 'core',
] satisfies DeviceComponent['kind'][]);
const isDevice = (component: Component): component is DeviceComponent => deviceKinds.has(component.kind);

/** The removed name that a device goes by, and which piece of it it is: null for the whole. */
function ownerOf({ name }: DeviceComponent, parts: ReadonlyMap<string, unknown>): [string | null, string | null] {
  if (parts.has(name)) return [name, null];
  for (const piece of Object.values(pieceNames)) {
    const owner = name.endsWith(` ${piece}`) ? name.slice(0, -piece.length - 1) : null;
    if (owner !== null && parts.has(owner)) return [owner, piece];
  }
  return [null, null];
}

const tangentSuffix = ' tangent';

function refuseUnknown({ title, components }: CircuitDocument, devices: readonly string[], held: readonly string[]): void {
  const found = (name: string): boolean => components.some((component) => isDevice(component) && component.name === name);
  const replaced = (name: string): boolean => components.some((component) => component.name.startsWith(`${name}${tangentSuffix}`) || Object.values(pieceNames).some((piece) => component.name.startsWith(`${name} ${piece}`)));
  for (const name of devices) {
    if (!found(name) && !replaced(name)) throw new CircuitError(`"${title}": expected one of its devices (${components.filter(isDevice).map((component) => component.name).join(', ')}), got ${name}`);
  }
  for (const name of held) {
    if (!components.some((component) => (component.kind === 'capacitor' && component.name === name) || component.name === `${name} held`)) throw new CircuitError(`"${title}": expected one of its capacitors, got ${name}`);
  }
}

/** Which device of the circuit, the name it is removed by, and of a piece which it is. */
interface DevicePlace {
  readonly index: number;
  readonly name: string;
  readonly role: string | null;
}

/** What stands in place of a device: its pieces, its linear parts, its tangent. */
function withoutDevice(
  { document, system, point }: CircuitAtRest, device: DeviceComponent, { index, name, role }: DevicePlace, parts: ReadonlySet<DevicePart> | 'all',
): { readonly standing: readonly Component[]; readonly restVolts: KeptPieces['restVolts'] } {
  const { devices } = system;
  const whole = { standing: [device], restVolts: {} };
  const firstControl = devices.controlOffsets[index]!;
  const controls = point.controls.subarray(firstControl, devices.controlOffsets[index + 1]!);
  if (device.kind === 'core') {
    if (parts !== 'all') return whole;
    return { standing: [{ kind: 'inductor', name: `${device.name}${tangentSuffix}`, between: device.between, henries: 1 / point.jacobian[devices.jacobianOffsets[index]!]! }], restVolts: {} };
  }
  const innerBase = device.kind === 'bipolar' ? nodeAt(system, system.controlRows[2 * firstControl]!) : '';
  const kept = keptPieces(device, role, parts, { name, thermalVolts: system.thermalVolts, controls, innerBase });
  if (kept === null) return whole;
  const linear = device.kind === 'bipolar' ? linearParts(device, innerBase) : [];
  return { standing: [...kept.components, ...linear, ...tangentOf({ system, point }, index, freeName(document, `${device.name}${tangentSuffix}`), kept)], restVolts: kept.restVolts };
}

/** A piece may be replaced again by other pieces of the same names. */
function freeName({ components }: CircuitDocument, wanted: string): string {
  const isTaken = (name: string): boolean => components.some((component) => component.name.startsWith(`${name} `));
  let name = wanted;
  for (let k = 2; isTaken(name); k += 1) name = `${wanted} ${k}:`;
  return name;
}

const nodeAt = (system: CircuitSystem, row: number): string => (row < 0 ? groundNode : system.nodeNames[row]!);

/** Base resistance and junction capacitances, under the names that their states had. */
function linearParts({ name, base, emitter, collector, baseOhms, emitterCapacitanceFarads, collectorCapacitanceFarads }: BipolarTransistor, innerBase: string): Component[] {
  const capacitor = (junction: string, node: string, farads: number): Component[] =>
    (farads > 0 ? [{ kind: 'capacitor', name: `${name} ${junction}`, between: [innerBase, node], farads }] : []);
  return [
    ...(baseOhms > 0 ? [{ kind: 'resistor' as const, name: `${name} base`, between: [base, innerBase] as const, ohms: baseOhms }] : []),
    ...capacitor('base–emitter', emitter, emitterCapacitanceFarads),
    ...capacitor('base–collector', collector, collectorCapacitanceFarads),
  ];
}

/** Of the law less what is kept of it: i = i0 + J (v − v0), current by current. */
function tangentOf({ system, point }: Pick<CircuitAtRest, 'system' | 'point'>, index: number, name: string, { drawn }: KeptPieces): Component[] {
  const { devices, controlRows, currentRows, controlSigns, currentSigns } = system;
  const [firstControl, firstCurrent] = [devices.controlOffsets[index]!, devices.currentOffsets[index]!];
  const controls = devices.controlOffsets[index + 1]! - firstControl;
  const pair = (rows: Int32Array, k: number): NodePair => [nodeAt(system, rows[2 * k]!), nodeAt(system, rows[2 * k + 1]!)];
  const components: Component[] = [];
  drawn.currents.forEach((kept, r) => {
    const [from, to] = pair(currentRows, firstCurrent + r);
    if (from === to) return;
    let amperes = point.currents[firstCurrent + r]! - kept;
    for (let c = 0; c < controls; c += 1) {
      const at = r * controls + c;
      const siemens = point.jacobian[devices.jacobianOffsets[index]! + at]! - drawn.jacobian[at]!;
      amperes -= siemens * point.controls[firstControl + c]!;
      // Two signs of a p-type cancel.
      const signed = currentSigns[firstCurrent + r]! * controlSigns[firstControl + c]! * siemens;
      components.push({ kind: 'transconductor', name: `${name} ${r + 1} by ${c + 1}`, out: [to, from], in: pair(controlRows, firstControl + c), siemens: signed });
    }
    components.push({ kind: 'current-source', name: `${name} ${r + 1}`, from, to, amperes: currentSigns[firstCurrent + r]! * amperes });
  });
  return components;
}
