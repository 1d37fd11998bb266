/**
 * All nonlinear devices of a circuit in one flat table, and the two things a Newton iteration asks of it: currents with their
 * derivatives, and how far a step may go.
 *
 * Voltages and currents here are the *device's own*: for a p-type both have already been multiplied by −1
 * (`CircuitSystem.controlSigns`, `currentSigns`), so parameters and laws are those of its n-type twin.
 */
import { log } from '../math/index.ts';
import type { DeviceComponent } from './components.ts';
import { coreFluxScale, coreHistoryLength, coreLaw, coreParameters, reversibleSlope } from './core-law.ts';
import { bipolarLaw, diodeLaw, fieldEffectLaw, forwardBipolarLaw, forwardFieldEffectLaw, productLaw, tanhLaw, triodeLaw } from './device-laws.ts';
import { deviceKind } from './system.ts';
import type { DeviceTable } from './system.ts';

/** Boltzmann's constant over the elementary charge in V/K, both exact (SI Brochure, 9th edition, 2019). */
const boltzmannVoltsPerKelvin = 1.380649e-23 / 1.602176634e-19;

/** kT/q in volts. 27 °C: 25.865 mV. */
export function thermalVolts(temperatureC: number): number {
  return boltzmannVoltsPerKelvin * (temperatureC + 273.15);
}

/** Controls that are no junction may move this far in one step: volts of a field-effect, triode or product control. */
const longestStepVolts = 1;
/**
 * … and further from 0 V in proportion, so that a grid or gate driven hundreds of volts into cut-off comes back in five steps, not in hundreds: at 40
 * dB of overdrive evaluations a sample fell from 442 to 2, and cap hits from two thirds of the samples to none (white noise into a common source).
 */
const fieldStepGrowth = 3;
/**
 * A tanh pair bends on both sides of 0 V, so on its way back it goes no further than one scale past where it was on the other side: 20 V rms of white
 * noise into an op-amp loop takes 5 evaluations a sample; held to one scale past 0 V it took 9, to one scale a step 414, most of them ending at the cap.
 */
const pairStepGrowth = 2;
/** Scale in which errors of field-effect, triode and product controls are judged, in volts. */
const fieldScaleVolts = 0.1;

/** Errors of a core's flux are judged in a tenth of the flux at which its law bends; its steps are bounded by that flux, and further out in proportion. */
const coreScaleShare = 0.1;
const coreStepGrowth = 2;

interface DeviceEntry {
  readonly kind: number;
  readonly parameters: readonly number[];
  readonly currents: number;
  readonly controls: readonly ControlEntry[];
}

interface ControlEntry {
  readonly name: string;
  readonly scaleVolts: number;
  /** Junction: n·VT, and the voltage past which steps are taken logarithmically; null: no junction. */
  readonly junction: { readonly widthVolts: number; readonly criticalVolts: number } | null;
  readonly longestVolts: number;
  readonly stepGrowth: number;
}

function junctionOf(saturationAmperes: number, widthVolts: number): { widthVolts: number; criticalVolts: number } {
  return { widthVolts, criticalVolts: Math.max(0, widthVolts * log(widthVolts / (Math.SQRT2 * saturationAmperes))) };
}

function junctionControl(name: string, saturationAmperes: number, widthVolts: number): ControlEntry {
  return { name, scaleVolts: widthVolts, junction: junctionOf(saturationAmperes, widthVolts), longestVolts: Infinity, stepGrowth: 0 };
}

function fieldControl(name: string, junction: ControlEntry['junction'] = null): ControlEntry {
  return { name, scaleVolts: fieldScaleVolts, junction, longestVolts: longestStepVolts, stepGrowth: fieldStepGrowth };
}

function entryOf(component: DeviceComponent, vt: number): DeviceEntry {
  switch (component.kind) {
    case 'diode': {
      const width = component.emissionCoefficient * vt;
      return {
        kind: deviceKind.diode,
        parameters: [component.saturationAmperes, 1 / width],
        currents: 1,
        controls: [junctionControl('anode–cathode', component.saturationAmperes, width)],
      };
    }
    case 'bipolar': {
      const saturation = component.saturationAmperes;
      return {
        kind: deviceKind.bipolar,
        parameters: [
          saturation, 1 / vt, saturation / component.forwardBeta, saturation / component.reverseBeta,
          component.earlyVolts === null ? 0 : 1 / component.earlyVolts,
        ],
        currents: 2,
        controls: [junctionControl('base–emitter', saturation, vt), junctionControl('base–collector', saturation, vt)],
      };
    }
    case 'forward-bipolar': {
      const saturation = component.saturationAmperes;
      return {
        kind: deviceKind.forwardBipolar,
        parameters: [saturation, 1 / vt, saturation / component.forwardBeta, component.earlyVolts === null ? 0 : 1 / component.earlyVolts],
        currents: 2,
        controls: [junctionControl('base–emitter', saturation, vt), fieldControl('base–collector')],
      };
    }
    case 'forward-field-effect':
      return {
        kind: deviceKind.forwardFieldEffect,
        parameters: [component.thresholdVolts, component.betaAmperesPerVolt2, component.lambdaPerVolt],
        currents: 1,
        controls: [fieldControl('gate–source'), fieldControl('gate–drain')],
      };
    case 'field-effect': {
      const gate = component.gateSaturationAmperes;
      const junction = gate === null ? null : junctionOf(gate, vt);
      return {
        kind: deviceKind.fieldEffect,
        parameters: [component.thresholdVolts, component.betaAmperesPerVolt2, component.lambdaPerVolt, gate ?? 0, 1 / vt],
        currents: gate === null ? 1 : 3,
        controls: [fieldControl('gate–source', junction), fieldControl('gate–drain', junction)],
      };
    }
    case 'triode':
      return {
        kind: deviceKind.triode,
        parameters: [component.perveance, 1 / component.mu, component.gridPerveance ?? 0],
        currents: component.gridPerveance === null ? 1 : 2,
        controls: [fieldControl('grid–cathode'), fieldControl('anode–cathode')],
      };
    case 'tanh-transconductor':
      return {
        kind: deviceKind.tanhTransconductor,
        parameters: [component.maxAmperes, 1 / component.scaleVolts],
        currents: 1,
        controls: [{ name: 'input', scaleVolts: component.scaleVolts, junction: null, longestVolts: component.scaleVolts, stepGrowth: pairStepGrowth }],
      };
    case 'product-transconductor':
      return {
        kind: deviceKind.productTransconductor,
        parameters: [component.amperesPerVolt2],
        currents: 1,
        controls: [fieldControl('first input'), fieldControl('second input')],
      };
    case 'core': {
      const flux = coreFluxScale(component);
      return {
        kind: deviceKind.core,
        parameters: coreParameters(component),
        currents: 1,
        controls: [{ name: 'flux', scaleVolts: coreScaleShare * flux, junction: null, longestVolts: flux, stepGrowth: coreStepGrowth }],
      };
    }
  }
}

/** The table of `components` in their order, with every junction at `vt` volts of kT/q. Components are taken as valid. */
export function buildDeviceTable(components: readonly DeviceComponent[], vt: number): DeviceTable {
  const entries = components.map((component) => entryOf(component, vt));
  const controls = entries.flatMap((entry) => entry.controls);
  const controlOffsets = offsetsOf(entries.map((entry) => entry.controls.length));
  const currentOffsets = offsetsOf(entries.map((entry) => entry.currents));
  return {
    count: entries.length,
    controlCount: controlOffsets[entries.length]!,
    currentCount: currentOffsets[entries.length]!,
    names: components.map((component) => component.name),
    controlNames: controls.map((control) => control.name),
    kinds: Uint8Array.from(entries, (entry) => entry.kind),
    parameters: Float64Array.from(entries.flatMap((entry) => entry.parameters)),
    parameterOffsets: offsetsOf(entries.map((entry) => entry.parameters.length)),
    controlOffsets,
    currentOffsets,
    jacobianOffsets: offsetsOf(entries.map((entry) => entry.controls.length * entry.currents)),
    cores: Int32Array.from(entries.flatMap((entry, d) => (entry.kind === deviceKind.core ? [d] : []))),
    scaleVolts: Float64Array.from(controls, (control) => control.scaleVolts),
    junctionWidthVolts: Float64Array.from(controls, (control) => control.junction?.widthVolts ?? 0),
    junctionCriticalVolts: Float64Array.from(controls, (control) => control.junction?.criticalVolts ?? 0),
    longestStepVolts: Float64Array.from(controls, (control) => control.longestVolts),
    stepGrowth: Float64Array.from(controls, (control) => control.stepGrowth),
  };
}

function offsetsOf(lengths: readonly number[]): Int32Array {
  const offsets = new Int32Array(lengths.length + 1);
  for (let k = 0; k < lengths.length; k += 1) offsets[k + 1] = offsets[k]! + lengths[k]!;
  return offsets;
}

/**
 * Currents and Jacobian of every device at the control voltages `v[vOffset …]` (V), written to `i[iOffset …]` (A) and
 * `jacobian[jOffset …]` (S, packed blocks). Cores are on the branches that `histories` (one after the other) leads them, or without it on their initial curves. Audio thread: allocates nothing,
 * never throws. NaN in gives NaN out.
 */
export function evaluateDevices(
  table: DeviceTable, v: Float64Array, i: Float64Array, jacobian: Float64Array, vOffset = 0, iOffset = 0, jOffset = 0, histories: Float64Array | null = null,
): void {
  const { count, kinds, parameters, parameterOffsets, controlOffsets, currentOffsets, jacobianOffsets } = table;
  for (let d = 0; d < count; d += 1) {
    const at = parameterOffsets[d]!;
    const vAt = vOffset + controlOffsets[d]!;
    const iFirst = currentOffsets[d]!;
    const iAt = iOffset + iFirst;
    const jAt = jOffset + jacobianOffsets[d]!;
    switch (kinds[d]) {
      case deviceKind.diode:
        diodeLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.bipolar:
        bipolarLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.fieldEffect:
        fieldEffectLaw(parameters, at, currentOffsets[d + 1]! - iFirst, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.triode:
        triodeLaw(parameters, at, currentOffsets[d + 1]! - iFirst, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.tanhTransconductor:
        tanhLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.core:
        break;
      case deviceKind.forwardBipolar:
        forwardBipolarLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
        break;
      case deviceKind.forwardFieldEffect:
        forwardFieldEffectLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
        break;
      default:
        productLaw(parameters, at, v, vAt, i, iAt, jacobian, jAt);
    }
  }
  if (table.cores.length > 0) evaluateCores(table, v, i, jacobian, vOffset, iOffset, jOffset, histories);
}

/** Apart, so that the loop over all devices stays small enough for the engine to take the laws into it. */
function evaluateCores(
  { cores, parameters, parameterOffsets, controlOffsets, currentOffsets, jacobianOffsets }: DeviceTable,
  v: Float64Array, i: Float64Array, jacobian: Float64Array, vOffset: number, iOffset: number, jOffset: number, histories: Float64Array | null,
): void {
  for (let core = 0; core < cores.length; core += 1) {
    const d = cores[core]!;
    coreLaw(
      parameters, parameterOffsets[d]!, histories, core * coreHistoryLength, v, vOffset + controlOffsets[d]!, i, iOffset + currentOffsets[d]!, jacobian, jOffset + jacobianOffsets[d]!,
    );
  }
}

/** `evaluateDevices` for small signals at rest: a core's slope is the reversible one, that of signals too small to move its memory. Not for the audio thread. */
export function evaluateSmallSignal(table: DeviceTable, v: Float64Array, i: Float64Array, jacobian: Float64Array): void {
  evaluateDevices(table, v, i, jacobian);
  for (const d of table.cores) jacobian[table.jacobianOffsets[d]!] = reversibleSlope(table.parameters, table.parameterOffsets[d]!, v[table.controlOffsets[d]!]!);
}

/**
 * The step `step` from `v`, shortened where Newton would overshoot, into `out` (may be `step` itself). Junctions: past the critical
 * voltage a step of more than two n·VT is taken on the logarithm of the current (Nagel 1975). Other controls: at most
 * `scaleVolts` + 2 |v| for a tanh pair, the flux where it bends + 2 |v| for a core, 1 V + 3 |v| for field-effect, triode and product; a field-effect control with a gate diode obeys both.
 * Audio thread: allocates nothing, never throws.
 */
export function limitStep(table: DeviceTable, v: Float64Array, step: Float64Array, out: Float64Array, vOffset = 0, stepOffset = 0, outOffset = 0): void {
  const { controlCount, junctionWidthVolts, junctionCriticalVolts, longestStepVolts: longest, stepGrowth } = table;
  for (let k = 0; k < controlCount; k += 1) {
    const from = v[vOffset + k]!;
    let d = step[stepOffset + k]!;
    const width = junctionWidthVolts[k]!;
    if (width > 0 && from + d > junctionCriticalVolts[k]! && Math.abs(d) > 2 * width) {
      if (from > 0) {
        const growth = 1 + d / width;
        d = growth > 0 ? width * log(growth) : junctionCriticalVolts[k]! - from;
      } else {
        d = width * log((from + d) / width) - from;
      }
    }
    const bound = longest[k]! + stepGrowth[k]! * Math.abs(from);
    out[outOffset + k] = d > bound ? bound : d < -bound ? -bound : d;
  }
}
