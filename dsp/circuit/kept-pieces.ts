/**
 * What is left of a device when parts of its law are taken away: components that carry the remaining laws, and what they draw at the operating point. The rest, whatever it is, becomes a tangent
 * (`remove.ts`), so that currents and slopes of pieces and tangent together are those of the whole device there.
 *
 * Controls, currents and derivatives here are the device's own (mirrored for p-types), in the order of `devices.ts`.
 */
import type { BipolarTransistor, Component, DeviceComponent, FieldEffectTransistor, ForwardBipolar, ForwardFieldEffect, Triode } from './components.ts';
import { buildDeviceTable, evaluateDevices } from './devices.ts';
import type { DevicePart } from './removal.ts';

/** A law at one point: currents, and derivatives row by row (currents × controls). */
export interface LawPoint {
  readonly currents: Float64Array;
  readonly jacobian: Float64Array;
}

export interface KeptPieces {
  readonly components: readonly Component[];
  readonly drawn: LawPoint;
  /** Volts at rest of nodes that the pieces bring with them. */
  readonly restVolts: Readonly<Record<string, number>>;
}

/** Where a device stands at rest. */
export interface DeviceRest {
  /** Of the device before anything was taken away. */
  readonly name: string;
  readonly thermalVolts: number;
  /** Its own control voltages. */
  readonly controls: ArrayLike<number>;
  /** Node of the junctions; of a bipolar without base resistance its base. */
  readonly innerBase: string;
}

/** Names of pieces; a device's removal reaches them too, so that taking away twice is taking away once. */
export const pieceNames = { forward: 'forward', reverse: 'reverse', early: 'early', modulation: 'modulation', grid: 'grid', gateSource: 'gate–source', gateDrain: 'gate–drain' } as const;

/**
 * The pieces of `device` without `parts` ('all': none). Null: it has none of these parts, and stays as it is. Pieces are named after `rest.name`; `role`: of a device that is a piece already, which it is.
 */
export function keptPieces(device: DeviceComponent, role: string | null, parts: ReadonlySet<DevicePart> | 'all', rest: DeviceRest): KeptPieces | null {
  const pieces = new Pieces(device, rest);
  if (parts === 'all') return pieces.done();
  switch (device.kind) {
    case 'bipolar': return bipolarPieces(device, parts, pieces);
    case 'forward-bipolar':
      if (role === pieceNames.reverse) return parts.has('saturation') ? pieces.done() : null;
      return forwardPieces(device, parts, pieces);
    case 'field-effect': return fieldEffectPieces(device, parts, pieces);
    case 'forward-field-effect':
      if (role === pieceNames.reverse) return parts.has('ohmic') ? pieces.done() : null;
      return squarePieces(device, parts, pieces);
    case 'triode':
      if (role === pieceNames.grid) return parts.has('grid') ? pieces.done() : null;
      return triodePieces(device, parts, pieces);
    case 'product-transconductor':
      return (role === pieceNames.early && parts.has('early')) || (role === pieceNames.modulation && parts.has('modulation')) ? pieces.done() : null;
    case 'diode':
      return role !== null && parts.has('gate') ? pieces.done() : null;
    default:
      return null;
  }
}

/** Gathers components, and adds up what they draw. */
class Pieces {
  readonly rest: DeviceRest;
  readonly components: Component[] = [];
  readonly drawn: LawPoint;
  readonly restVolts: Record<string, number> = {};
  readonly #controls: number;

  constructor(device: DeviceComponent, rest: DeviceRest) {
    const table = buildDeviceTable([device], rest.thermalVolts);
    this.rest = rest;
    this.#controls = table.controlCount;
    this.drawn = { currents: new Float64Array(table.currentCount), jacobian: new Float64Array(table.currentCount * table.controlCount) };
  }

  done(): KeptPieces {
    return { components: this.components, drawn: this.drawn, restVolts: this.restVolts };
  }

  /** A device whose controls are those of the whole with these numbers, and whose currents add to those with these (negative, from 1: taken from). */
  add(component: DeviceComponent, controls: readonly number[], currents: readonly number[]): void {
    const table = buildDeviceTable([component], this.rest.thermalVolts);
    const own = new Float64Array(table.currentCount);
    const slopes = new Float64Array(table.currentCount * table.controlCount);
    evaluateDevices(table, Float64Array.from(controls, (k) => this.rest.controls[k]!), own, slopes);
    currents.forEach((signed, r) => {
      const row = Math.abs(signed) - 1;
      const sign = signed < 0 ? -1 : 1;
      this.drawn.currents[row]! += sign * own[r]!;
      controls.forEach((k, c) => {
        this.drawn.jacobian[row * this.#controls + k]! += sign * slopes[r * table.controlCount + c]!;
      });
    });
    this.components.push(component);
  }

  /**
   * A product as a device: k (v_A + offset) v_B, v_A the first control, between the nodes `inA`, and v_B between `inB`, driven from the first node of `through` to the second; `sign` of a p-type. What it draws is for the
   * caller to add.
   */
  addProduct(piece: string, sign: number, product: { readonly inA: readonly [string, string]; readonly inB: readonly [string, string]; readonly through: readonly [string, string]; readonly k: number; readonly offsetVolts: number }): void {
    const { inA, inB, through: [from, to], k, offsetVolts } = product;
    const { name } = this.rest;
    const [sum, offset] = [`${name} ${piece} sum`, `${name} ${piece} offset`];
    this.restVolts[offset] = sign * offsetVolts;
    this.restVolts[sum] = sign * (this.rest.controls[0]! + offsetVolts);
    this.components.push(
      { kind: 'amplifier', name: sum, out: [sum, offset], in: inA, gain: 1 },
      { kind: 'voltage-source', name: offset, between: [offset, 'ground'], volts: sign * offsetVolts },
      { kind: 'product-transconductor', name: `${name} ${piece}`, out: [to, from], inA: [sum, 'ground'], inB, amperesPerVolt2: sign * k },
    );
  }

  draw(row: number, amperes: number, slopes: readonly number[]): void {
    this.drawn.currents[row]! += amperes;
    slopes.forEach((siemens, c) => {
      this.drawn.jacobian[row * this.#controls + c]! += siemens;
    });
  }
}

function bipolarPieces(device: BipolarTransistor, parts: ReadonlySet<DevicePart>, pieces: Pieces): KeptPieces | null {
  const { polarity, collector, emitter, saturationAmperes, forwardBeta, reverseBeta, earlyVolts } = device;
  const { name, innerBase: base } = pieces.rest;
  const [exponential, saturation] = [parts.has('exponential'), parts.has('saturation')];
  const early = parts.has('early') && earlyVolts !== null;
  if (!exponential && !saturation && !early) return null;
  const forward: ForwardBipolar = { kind: 'forward-bipolar', name: `${name} ${pieceNames.forward}`, polarity, collector, base, emitter, saturationAmperes, forwardBeta, earlyVolts };
  if (!exponential && !saturation) {
    // The whole transistor with its current at rest and no Early effect: what is saturated is then scaled with it, by a few hundredths.
    const widening = 1 - pieces.rest.controls[1]! / earlyVolts!;
    pieces.add({
      ...device, name: `${name} ${pieceNames.forward}`, base, baseOhms: 0, emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0,
      saturationAmperes: saturationAmperes * widening, forwardBeta: forwardBeta * widening, reverseBeta: reverseBeta * widening, earlyVolts: null,
    }, [0, 1], [1, 2]);
    return pieces.done();
  }
  if (exponential) {
    if (earlyVolts !== null && !early) addEarly(forward, pieces);
  } else pieces.add(early ? withoutEarly(forward, pieces) : forward, [0, 1], [1, 2]);
  if (!saturation) {
    // Emitter and collector change places; the Early effect on what is saturated is left out.
    pieces.add({ ...forward, name: `${name} ${pieceNames.reverse}`, collector: emitter, emitter: collector, forwardBeta: reverseBeta, earlyVolts: null }, [1, 0], [2, 1]);
  }
  return pieces.done();
}

function forwardPieces(device: ForwardBipolar, parts: ReadonlySet<DevicePart>, pieces: Pieces): KeptPieces | null {
  const early = parts.has('early') && device.earlyVolts !== null;
  if (parts.has('exponential')) {
    if (device.earlyVolts !== null && !early) addEarly(device, pieces);
    return pieces.done();
  }
  if (!early) return null;
  pieces.add(withoutEarly(device, pieces), [0, 1], [1, 2]);
  return pieces.done();
}

/** The same current at rest without the Early effect. */
function withoutEarly(device: ForwardBipolar, { rest }: Pieces): ForwardBipolar {
  const widening = 1 - rest.controls[1]! / device.earlyVolts!;
  return { ...device, saturationAmperes: device.saturationAmperes * widening, forwardBeta: device.forwardBeta * widening, earlyVolts: null };
}

/** The Early effect on a transistor whose exponential is its tangent: −(I0 + g (vBE − v0)) vBC/VA from collector to emitter. */
function addEarly({ polarity, collector, base, emitter, saturationAmperes, earlyVolts }: ForwardBipolar, pieces: Pieces): void {
  const { rest: { controls, thermalVolts } } = pieces;
  const junction = new Float64Array(1);
  const slope = new Float64Array(1);
  const diode: DeviceComponent = { kind: 'diode', name: '', anode: base, cathode: emitter, saturationAmperes, emissionCoefficient: 1 };
  evaluateDevices(buildDeviceTable([diode], thermalVolts), Float64Array.of(controls[0]!), junction, slope);
  const [amperes, siemens] = [junction[0]!, slope[0]!];
  const perVolt = -1 / earlyVolts!;
  pieces.addProduct(pieceNames.early, polarity === 'npn' ? 1 : -1, {
    inA: [base, emitter], inB: [base, collector], through: [collector, emitter], k: siemens * perVolt, offsetVolts: amperes / siemens - controls[0]!,
  });
  // From collector to emitter: into the base–emitter current, out of the base–collector current.
  for (const [row, sign] of [[0, 1], [1, -1]] as const) {
    pieces.draw(row, sign * amperes * controls[1]! * perVolt, [sign * siemens * controls[1]! * perVolt, sign * amperes * perVolt]);
  }
}

function fieldEffectPieces(device: FieldEffectTransistor, parts: ReadonlySet<DevicePart>, pieces: Pieces): KeptPieces | null {
  const { channel, drain, gate, source, thresholdVolts, betaAmperesPerVolt2, lambdaPerVolt, gateSaturationAmperes } = device;
  const { name } = pieces.rest;
  const [square, ohmic] = [parts.has('square-law'), parts.has('ohmic')];
  const modulation = parts.has('modulation') && lambdaPerVolt !== 0;
  const junctions = gateSaturationAmperes !== null;
  const gateOff = parts.has('gate') && junctions;
  if (!square && !ohmic && !modulation && !gateOff) return null;
  if (!square && !ohmic) {
    const law = modulation ? modulated(device, pieces) : device;
    pieces.add({ ...law, name: `${name} ${pieceNames.forward}`, gateSaturationAmperes: gateOff ? null : gateSaturationAmperes }, [0, 1], gateOff || !junctions ? [1] : [1, 2, 3]);
    return pieces.done();
  }
  const forward: ForwardFieldEffect = { kind: 'forward-field-effect', name: `${name} ${pieceNames.forward}`, channel, drain, gate, source, thresholdVolts, betaAmperesPerVolt2, lambdaPerVolt };
  if (square) {
    if (lambdaPerVolt !== 0 && !modulation) addModulation(forward, pieces);
  } else pieces.add(modulation ? modulated(forward, pieces) : forward, [0, 1], [1]);
  if (!ohmic) {
    // β (vGD − Vt)² from source to drain: what the ohmic region takes off the square law, its modulation left out.
    pieces.add({ ...forward, name: `${name} ${pieceNames.reverse}`, drain: source, source: drain, lambdaPerVolt: 0 }, [1, 0], [-1]);
  }
  if (junctions && !gateOff) {
    for (const [piece, node, control, current] of [[pieceNames.gateSource, source, 0, 2], [pieceNames.gateDrain, drain, 1, 3]] as const) {
      const [anode, cathode] = channel === 'n' ? [gate, node] : [node, gate];
      pieces.add({ kind: 'diode', name: `${name} ${piece}`, anode, cathode, saturationAmperes: gateSaturationAmperes, emissionCoefficient: 1 }, [control], [current]);
    }
  }
  return pieces.done();
}

function squarePieces(device: ForwardFieldEffect, parts: ReadonlySet<DevicePart>, pieces: Pieces): KeptPieces | null {
  const modulation = parts.has('modulation') && device.lambdaPerVolt !== 0;
  if (parts.has('square-law')) {
    if (device.lambdaPerVolt !== 0 && !modulation) addModulation(device, pieces);
    return pieces.done();
  }
  if (!modulation) return null;
  pieces.add(modulated(device, pieces), [0, 1], [1]);
  return pieces.done();
}

/** The same current at rest without channel-length modulation. */
function modulated<T extends FieldEffectTransistor | ForwardFieldEffect>(device: T, { rest: { controls } }: Pieces): T {
  return { ...device, betaAmperesPerVolt2: device.betaAmperesPerVolt2 * (1 + device.lambdaPerVolt * (controls[0]! - controls[1]!)), lambdaPerVolt: 0 };
}

/** Channel-length modulation of a square law that is its tangent: λ (F0 + g (vGS − v0)) vDS from drain to source. None of a channel that is cut off at rest. */
function addModulation({ channel, drain, gate, source, thresholdVolts, betaAmperesPerVolt2, lambdaPerVolt }: ForwardFieldEffect, pieces: Pieces): void {
  const { rest: { controls } } = pieces;
  const overdrive = controls[0]! - thresholdVolts;
  if (!(overdrive > 0)) return;
  const amperes = betaAmperesPerVolt2 * overdrive * overdrive;
  const siemens = 2 * betaAmperesPerVolt2 * overdrive;
  const across = controls[0]! - controls[1]!;
  pieces.addProduct(pieceNames.modulation, channel === 'n' ? 1 : -1, {
    inA: [gate, source], inB: [drain, source], through: [drain, source], k: siemens * lambdaPerVolt, offsetVolts: amperes / siemens - controls[0]!,
  });
  pieces.draw(0, amperes * lambdaPerVolt * across, [lambdaPerVolt * (siemens * across + amperes), -lambdaPerVolt * amperes]);
}

/** So large that the anode of a triode that stands for a grid alone does nothing. */
const endlessMu = 1e9;

function triodePieces(device: Triode, parts: ReadonlySet<DevicePart>, pieces: Pieces): KeptPieces | null {
  const { grid, cathode, gridPerveance } = device;
  const { name } = pieces.rest;
  const gridOff = parts.has('grid') && gridPerveance !== null;
  if (!parts.has('anode') && !gridOff) return null;
  if (!parts.has('anode')) pieces.add({ ...device, name: `${name} ${pieceNames.forward}`, gridPerveance: null }, [0, 1], [1]);
  // The grid alone is a triode whose anode is its grid: the same law but for its toe of 4 mV.
  else if (gridPerveance !== null && !gridOff) pieces.add({ kind: 'triode', name: `${name} ${pieceNames.grid}`, anode: grid, grid, cathode, perveance: gridPerveance, mu: endlessMu, gridPerveance: null }, [0, 0], [2]);
  return pieces.done();
}
