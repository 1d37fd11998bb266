/** Noise and rails of what runs, in the volts it puts out: the circuit's own, times its make-up. What it is wired to (`previous …`) is left out, for that is in what drives it. Off the audio thread. */
import { assembleCircuit, circuitNoise, findOperatingPoint, noiseOf, railResponses } from '../circuit/index.ts';
import type { CircuitDocument, CircuitNoise, RailResponse } from '../circuit/index.ts';

/** Components of the network that a circuit is driven through; in a joined circuit those of its first part. */
export function isSourceNetwork(component: string): boolean {
  return component.startsWith('previous ') || component.startsWith('1 previous ');
}

/** Of a circuit, before its make-up. */
export function analyseNoise(document: CircuitDocument, hz: readonly number[], temperatureC: number): CircuitNoise {
  const system = assembleCircuit(document);
  return circuitNoise(document, system, findOperatingPoint(system), { hz, temperatureK: temperatureC + 273.15 });
}

/** V²/Hz of the circuit alone. */
export function ownDensity(noise: CircuitNoise): Float64Array {
  return noiseOf(noise, (component) => !isSourceNetwork(component));
}

/** Of a circuit, before its make-up. */
export function analyseRails(document: CircuitDocument, hz: readonly number[]): RailResponse[] {
  const system = assembleCircuit(document);
  return railResponses(document, system, findOperatingPoint(system), hz);
}
