// Circuits for tests: a document from a list of components, and readers of the documents kept as files.
import { readFileSync } from 'node:fs';
import { assembleCircuit } from '../../dsp/circuit/assemble.ts';
import { parseCircuitDocument } from '../../dsp/circuit/document.ts';
import type { CircuitDocument } from '../../dsp/circuit/components.ts';
import type { CircuitSystem } from '../../dsp/circuit/system.ts';

/** A component as a document states it. */
export type Part = Readonly<Record<string, unknown>>;

/** CHECKS.md works at 300 K unless it says otherwise. */
export const referenceTemperatureC = 26.85;

/** The plain document, as JSON.parse would give it. */
export function documentOf(components: readonly Part[], output: readonly [string, string], temperatureC = 27): Record<string, unknown> {
  return { format: 'stagebench/circuit', version: 1, title: 'test circuit', temperatureC, components, output };
}

export function parsedOf(components: readonly Part[], output: readonly [string, string], temperatureC = 27): CircuitDocument {
  return parseCircuitDocument(documentOf(components, output, temperatureC));
}

export function systemOf(components: readonly Part[], output: readonly [string, string], temperatureC = 27): CircuitSystem {
  return assembleCircuit(parsedOf(components, output, temperatureC));
}

/** A document of tests/circuit/documents, changed by `change` if given. */
export function documentFile(name: string, change: (components: Part[]) => Part[] = (components) => components): CircuitDocument {
  const text = readFileSync(new URL(`../circuit/documents/${name}.json`, import.meta.url), 'utf8');
  const document = JSON.parse(text) as { components: Part[] };
  return parseCircuitDocument({ ...document, components: change(document.components) });
}

// Short forms of the parts that nearly every test circuit has.
export const resistor = (name: string, a: string, b: string, ohms: number): Part => ({ kind: 'resistor', name, between: [a, b], ohms });
export const capacitor = (name: string, a: string, b: string, farads: number): Part => ({ kind: 'capacitor', name, between: [a, b], farads });
export const inductor = (name: string, a: string, b: string, henries: number): Part => ({ kind: 'inductor', name, between: [a, b], henries });
export const source = (name: string, a: string, b: string, volts: number): Part => ({ kind: 'voltage-source', name, between: [a, b], volts });
export const input = (a: string, b = 'ground', biasVolts = 0): Part => ({ kind: 'input', name: 'IN', between: [a, b], biasVolts });
