/** The surroundings as circuits: the source with its tie line, the tie line with its load, and both joined by a patch in place of the path. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { sourceNetwork } from '../../stages/index.ts';
import type { OutputNetwork, StageValues } from '../../stages/index.ts';

const temperatureC = 27;

const number = (values: StageValues, id: string): number => values[id] as number;
const tieFarads = (values: StageValues, metres: 'tieMetres' | 'returnMetres'): number => number(values, metres) * number(values, 'tieFaradsPerMetre');

const resistor = (name: string, a: string, b: string, ohms: number): Component => ({ kind: 'resistor', name, between: [a, b], ohms });
const capacitor = (name: string, a: string, b: string, farads: number): Component => ({ kind: 'capacitor', name, between: [a, b], farads });

/** What comes to the path when nothing loads it. */
export function sourceCircuit(values: StageValues): CircuitDocument {
  return {
    title: 'source and tie line', temperatureC, output: ['tie', 'ground'],
    components: [
      ...sourceNetwork(null).components,
      resistor('RS', 'in', 'tie', number(values, 'sourceOhms')),
      capacitor('CT', 'tie', 'ground', tieFarads(values, 'tieMetres')),
    ],
  };
}

/** Thévenin's impedance of `sourceCircuit`: the circuit that is driven contains it. */
export function sourceOutput(values: StageValues): OutputNetwork {
  return {
    from: 'electromotive', to: 'tie',
    components: [
      resistor('RS', 'electromotive', 'tie', number(values, 'sourceOhms')),
      capacitor('CT', 'electromotive', 'tie', tieFarads(values, 'tieMetres')),
    ],
  };
}

/** Tie line and load, driven by the output network of what comes last; null: to be joined to it. */
export function loadCircuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const before = sourceNetwork(source);
  return {
    title: 'tie line and load', temperatureC, output: [before.node, 'ground'],
    components: [
      ...before.components,
      capacitor('CR', before.node, 'ground', tieFarads(values, 'returnMetres')),
      resistor('RL', before.node, 'ground', number(values, 'loadOhms')),
    ],
  };
}

/** The source drives the same load over both lines: the path out of circuit. */
export function directCircuit(values: StageValues): CircuitDocument {
  return {
    title: 'surroundings without the path', temperatureC, output: ['return', 'ground'],
    components: [
      ...sourceCircuit(values).components,
      resistor('RP', 'tie', 'return', number(values, 'patchOhms')),
      capacitor('CR', 'return', 'ground', tieFarads(values, 'returnMetres')),
      resistor('RL', 'return', 'ground', number(values, 'loadOhms')),
    ],
  };
}
