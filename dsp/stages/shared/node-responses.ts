/** Small signals between any nodes of a stage's circuit: one operating point, exact responses read wherever asked. */
import { assembleCircuit, exactResponse, findOperatingPoint } from '../../circuit/index.ts';
import type { CircuitDocument, CircuitSystem, Complex } from '../../circuit/index.ts';
import { power } from '../../math/index.ts';

export interface NodeResponses {
  /** Output volts per input volt of the circuit. */
  output(hertz: readonly number[]): readonly Complex[];
  /** Volts from node `plus` to node `minus` (default ground) per input volt. Throws for a node the circuit does not have. */
  between(hertz: readonly number[], plus: string, minus?: string): readonly Complex[];
}

/** Throws `CircuitError` where there is no operating point. */
export function nodeResponses(document: CircuitDocument): NodeResponses {
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  const rowOf = (node: string): number => {
    if (node === 'ground') return -1;
    const row = system.nodeNames.indexOf(node);
    if (row < 0) throw new Error(`expected one of the nodes ${system.nodeNames.join(', ')}, got "${node}"`);
    return row;
  };
  return {
    output: (hertz) => exactResponse(system, point, hertz),
    between: (hertz, plus, minus = 'ground') => {
      const read: CircuitSystem = { ...system, outputRows: [rowOf(plus), rowOf(minus)] };
      return exactResponse(read, point, hertz);
    },
  };
}

/** `count` frequencies from `fromHz` to `toHz`, equally spaced by ratio. */
export function logarithmicHertz(fromHz: number, toHz: number, count: number): readonly number[] {
  return Array.from({ length: count }, (_, k) => (k === count - 1 ? toHz : fromHz * power(toHz / fromHz, k / (count - 1))));
}
