/** Signals and circuits that try to break the solver: what no studio does to a stage, and what a mistake in one does. */
import { SeededRandom } from '../../dsp/math/index.ts';
import { defaultValues, stages } from '../../dsp/stages/index.ts';
import { CircuitRunner } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram, Component } from '../../dsp/circuit/index.ts';
import type { StageDefinition, StageValues } from '../../dsp/stages/index.ts';
import { documentFile } from './circuits.ts';
import { circuitDesigns, nearClassBDesign } from './documents.ts';

/** +4 dBu, V rms. */
const lineLevelVolts = Math.sqrt(0.6) * 10 ** (4 / 20);

function square(frames: number, rateHz: number, hz: number, peakVolts: number): Float64Array {
  return Float64Array.from({ length: frames }, (_, n) => (Math.floor((2 * n * hz) / rateHz) % 2 === 0 ? peakVolts : -peakVolts));
}

/** Single samples and pairs of opposite sign, irregularly spaced: what a dirty switch or a bad edit makes. */
function clicks(frames: number, random: SeededRandom, peakVolts: number): Float64Array {
  const wave = new Float64Array(frames);
  for (let n = 10; n < frames - 1; n += 5 + Math.floor(90 * random.nextUnit())) {
    const sign = random.nextUnit() < 0.5 ? -1 : 1;
    wave[n] = sign * peakVolts;
    if (random.nextUnit() < 0.3) wave[n + 1] = -sign * peakVolts;
  }
  return wave;
}

function noise(frames: number, random: SeededRandom, rmsVolts: number): Float64Array {
  return Float64Array.from({ length: frames }, () => rmsVolts * random.nextGaussian());
}

export interface StressSignal {
  readonly name: string;
  /** Two different signals, to be run at once. */
  readonly channels: readonly [Float64Array, Float64Array];
}

/** `share` shortens all of them. */
export function stressSignals(rateHz: number, seed: number, share = 1): StressSignal[] {
  const random = new SeededRandom(seed);
  const squares = ([[100, 2.2], [1000, 3], [10_000, 20]] as const).map(([hz, cycles]) => {
    const frames = Math.round((share * cycles * rateHz) / hz);
    return { name: `square ${hz} Hz, 20 and 100 V`, channels: [square(frames, rateHz, hz, 20), square(frames, rateHz, hz, 100)] as const };
  });
  const frames = Math.round(2000 * share);
  return [
    ...squares,
    { name: 'clicks of 100 V, noise at +60 dB', channels: [clicks(frames, random, 100), noise(frames, random, lineLevelVolts * 1000)] },
    // Band-limited by nothing: every sample is a new world. 20 V swings between the rails, 1 V lives in the curved part.
    { name: 'noise of 1 and 20 V', channels: [noise(frames, random, 1), noise(frames, random, 20)] },
  ];
}

export interface StressCircuit {
  readonly name: string;
  readonly document: CircuitDocument;
  /** Volts from ground that no output can pass while the input stays within `inputPeakVolts`. */
  furthestVolts(inputPeakVolts: number): number;
}

/**
 * Nothing but its supplies and its source feeds a circuit of junctions and resistors, so that no node is further from ground than these together; a capacitor can shift a wave by
 * as much again, and leakage that rings with a winding's capacitance doubles that. A triode's three-halves law, which knows no anode below its cathode, follows its grid µ times; a transformer steps up.
 */
function boundOf({ components }: CircuitDocument): (inputPeakVolts: number) => number {
  const supplies = components.reduce((sum, component) => (component.kind === 'voltage-source' ? sum + Math.abs(component.volts) : sum), 0);
  const gain = components.reduce((largest, component) => (component.kind === 'triode' ? Math.max(largest, component.mu) : largest), 1);
  const stepUp = components.reduce((product, component) => (component.kind === 'ideal-transformer' ? product * Math.max(1, 1 / component.turnsRatio) : product), 1);
  const swing = components.some(({ kind }) => kind === 'inductor') ? 4 : 2;
  return (inputPeakVolts) => swing * stepUp * (supplies + gain * inputPeakVolts);
}

type Change = (component: Component) => Component;

const withBeta = (forwardBeta: number): Change => (component) => (component.kind === 'bipolar' ? { ...component, forwardBeta } : component);
const withoutSupplies: Change = (component) => {
  if (component.kind === 'voltage-source') return { ...component, volts: 0 };
  return component.kind === 'current-source' ? { ...component, amperes: 0 } : component;
};
const changed = (document: CircuitDocument, change: Change): CircuitDocument => ({ ...document, components: document.components.map(change) });

/** Compensation capacitor for a gain-bandwidth of 20 MHz, in proportion from what the design has. */
const fastCompensation: Readonly<Record<string, number>> = { 'op-amp-loop': (30e-12 * 3.08) / 20, 'five-transistor': (100e-12 * 6.4) / 20, 'discrete-amplifier': (120e-12 * 10.5) / 20 };

/** Every circuit document of the tests as it is and with its values at the ends of the world. */
export function stressDocuments(): StressCircuit[] {
  const plain = [
    ...circuitDesigns, nearClassBDesign,
    ...['discrete-amplifier', 'push-pull', 'single-ended-bipolar', 'single-ended-field-effect', 'single-ended-valve', 'transformer-core'].map((name) => ({
      name, document: () => documentFile(name), furthestVolts: null,
    })),
  ].map(({ name, document, furthestVolts }) => ({ name, document: document(), furthestVolts }));
  return plain.flatMap(({ name, document, furthestVolts }) => {
    const variants: Omit<StressCircuit, 'furthestVolts'>[] = [{ name, document }, { name: `${name}, no supply`, document: changed(document, withoutSupplies) }];
    if (document.components.some(({ kind }) => kind === 'bipolar')) {
      for (const beta of [5, 1e12]) variants.push({ name: `${name}, beta ${beta}`, document: changed(document, withBeta(beta)) });
    }
    const farads = fastCompensation[name];
    if (farads !== undefined) {
      const fast = changed(document, (component) => (component.kind === 'capacitor' && component.name === 'CC' ? { ...component, farads } : component));
      variants.push({ name: `${name}, 20 MHz`, document: fast });
    }
    return variants.map((variant) => ({ ...variant, furthestVolts: furthestVolts === null ? boundOf(variant.document) : () => furthestVolts }));
  });
}

/** Values of a stage at the ends of their ranges: one at a time, and all of them one way. Refused ones are left out. */
export function extremeValues(stage: StageDefinition): { readonly what: string; readonly values: StageValues }[] {
  const normal = defaultValues(stage);
  const ends = stage.parameters.flatMap((parameter) => {
    if (parameter.kind === 'choice') return parameter.options.map((option) => ({ what: `${parameter.id} ${option.id}`, values: { ...normal, [parameter.id]: option.id } }));
    return [parameter.minimum, parameter.maximum].map((value) => ({ what: `${parameter.id} ${value}`, values: { ...normal, [parameter.id]: value } }));
  });
  const allAt = (end: 'minimum' | 'maximum'): StageValues =>
    ({ ...normal, ...Object.fromEntries(stage.parameters.flatMap((parameter) => (parameter.kind === 'number' ? [[parameter.id, parameter[end]]] : []))) });
  return [
    { what: 'defaults', values: normal }, ...ends, { what: 'all at their least', values: allAt('minimum') }, { what: 'all at their most', values: allAt('maximum') },
  ].filter(({ values }) => stage.refuse(values) === null);
}

/** Every stage that is a circuit, at its defaults and at the ends of its ranges. */
export function stressStages(): StressCircuit[] {
  return stages.flatMap((stage) => extremeValues(stage).flatMap(({ what, values }) => {
    const document = stage.circuit(values, null);
    return document === null ? [] : [{ name: `${stage.id}, ${what}`, document, furthestVolts: boundOf(document) }];
  }));
}

/** What one circuit went through. */
export interface StressResult {
  readonly name: string;
  /** One line a signal and channel that did not end as it should; none: it held. */
  readonly failures: readonly string[];
  /** Device evaluations: most in one internal sample, most in 128 base frames of one channel. */
  readonly worstSample: number;
  readonly worstBlock: number;
  readonly rescues: number;
  readonly samples: number;
}

const blockFrames = 128 * 8;

/** Runs `program` through `signals`, two channels at once, block by block. */
export function stress({ name, furthestVolts }: StressCircuit, program: CircuitProgram, signals: readonly StressSignal[]): StressResult {
  const failures: string[] = [];
  let worstSample = 0;
  let worstBlock = 0;
  let rescues = 0;
  let samples = 0;
  for (const signal of signals) {
    const runner = new CircuitRunner(program, 2);
    const { report } = runner;
    const buffers = signal.channels.map((wave) => wave.slice());
    const frames = buffers[0]!.length;
    for (let at = 0; at < frames; at += blockFrames) {
      const before = Array.from(report.evaluations);
      runner.process(buffers, at, Math.min(blockFrames, frames - at));
      before.forEach((count, channel) => { worstBlock = Math.max(worstBlock, report.evaluations[channel]! - count); });
    }
    buffers.forEach((output, channel) => {
      const limit = furthestVolts(largest(signal.channels[channel]!));
      const peak = largest(output);
      const where = `${name}: ${signal.name}, channel ${channel}`;
      if (report.capHits[channel] !== 0) failures.push(`${where}: cap hit in ${report.capHits[channel]} of ${frames} samples`);
      if (report.nonFinite[channel] !== 0) failures.push(`${where}: not finite in ${report.nonFinite[channel]} of ${frames} samples`);
      if (!(peak <= limit)) failures.push(`${where}: output of ${peak} V, expected at most ${limit} V`);
      worstSample = Math.max(worstSample, report.maximumEvaluations[channel]!);
      rescues += report.rescues[channel]!;
      samples += report.samples[channel]!;
    });
  }
  return { name, failures, worstSample, worstBlock, rescues, samples };
}

/** Largest magnitude; NaN if there is one. */
function largest(wave: Float64Array): number {
  let peak = 0;
  for (const volts of wave) if (!(Math.abs(volts) <= peak)) peak = Math.abs(volts);
  return peak;
}
