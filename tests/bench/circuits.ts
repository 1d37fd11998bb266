/** The circuits whose speed is measured, under the names the figures carry, and the levels at which they are judged. */
import { parseCircuitDocument } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import commonEmitter from '../circuit/documents/common-emitter.json';
import fiveTransistor from '../circuit/documents/five-transistor.json';
import opAmpLoop from '../circuit/documents/op-amp-loop.json';
import pushPullPair from '../circuit/documents/push-pull-pair.json';
import transformerCore from '../circuit/documents/transformer-core.json';
import transformerLine from '../circuit/documents/transformer-line.json';
import converged from '../reference/converged.json';

export const baseRateHz = 48_000;
export const factor = 8;
export const internalRateHz = baseRateHz * factor;

export interface BenchCircuit {
  readonly name: string;
  readonly document: CircuitDocument;
  readonly nominalPeakVolts: number;
}

export type Level = 'nominal' | 'one-percent';

/** The converged figures of a circuit, by the name of its file. */
export function convergedAt(circuit: string, level: Level, frequencyHz: number) {
  const found = converged.figures.find((figure) => figure.circuit === circuit && figure.level === level && figure.frequencyHz === frequencyHz);
  if (found === undefined) throw new Error(`converged.json: expected ${circuit}, ${level}, ${frequencyHz} Hz, found none`);
  return found;
}

const benchCircuit = (name: string, file: string, document: unknown): BenchCircuit => ({
  name, document: parseCircuitDocument(document), nominalPeakVolts: convergedAt(file, 'nominal', 1000).peakVolts,
});

export const benchCircuits = {
  'common-emitter': benchCircuit('common-emitter', 'common-emitter', commonEmitter),
  'push-pull': benchCircuit('push-pull', 'push-pull-pair', pushPullPair),
  'op-amp-loop': benchCircuit('op-amp-loop', 'op-amp-loop', opAmpLoop),
  'transformer-line': benchCircuit('transformer-line', 'transformer-line', transformerLine),
  'five-transistor': benchCircuit('five-transistor', 'five-transistor', fiveTransistor),
} as const;

/** transformer-line with a core that remembers: what that costs. No simulator is asked for it. */
export const coreCircuit: BenchCircuit = { ...benchCircuits['transformer-line'], name: 'transformer-core', document: parseCircuitDocument(transformerCore) };

/** Of its files: the name of a circuit in converged.json. */
export const fileOf = (name: string): string => (name === 'push-pull' ? 'push-pull-pair' : name);
