/** A stage's circuit at rest and for small signals: one operating point, several questions. */
import { assembleCircuit, exactResponse, findOperatingPoint, inputImpedance, outputImpedance } from '../../circuit/index.ts';
import type { CircuitDocument } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';

export interface CircuitAnalysis {
  /** DC volts of a node; 0 for ground. */
  volts(node: string): number;
  /** Small-signal gain from the ideal input to the output, dB. */
  gainDb(hz: number): number;
  inputOhms(hz: number): number;
  outputOhms(hz: number): number;
}

const size = ({ re, im }: { readonly re: number; readonly im: number }): number => Math.sqrt(re * re + im * im);

/** Solves the operating point; throws `CircuitError` where there is none. */
export function analyse(document: CircuitDocument): CircuitAnalysis {
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  return {
    volts: (node) => (node === 'ground' ? 0 : point.w[system.nodeNames.indexOf(node)]!),
    gainDb: (hz) => ratioToDecibels(size(exactResponse(system, point, [hz])[0]!)),
    inputOhms: (hz) => size(inputImpedance(system, point, [hz])[0]!),
    outputOhms: (hz) => size(outputImpedance(system, point, [hz])[0]!),
  };
}
