/** The circuit document: parsed at the edge, trusted inside. `component-fields.ts` is the table both directions walk. */
import { componentFields, terminalsOf } from './component-fields.ts';
import type { FieldRule, NumberRange } from './component-fields.ts';
import type { CircuitDocument, Component, ComponentKind, NodePair } from './components.ts';
import { CircuitError, shown } from './document-errors.ts';

export const circuitFormat = 'stagebench/circuit';
export const circuitVersion = 1;
export const groundNode = 'ground';
/** Where saturation currents hold unless the document says otherwise, in °C. */
export const defaultTemperatureC = 27;
export const absoluteZeroC = -273.15;

type JsonObject = Readonly<Record<string, unknown>>;

/**
 * The document in `value` (the result of JSON.parse), optional fields resolved, a new object throughout.
 * Throws `CircuitError` naming both sides at the first thing that is not as the format says.
 */
export function parseCircuitDocument(value: unknown): CircuitDocument {
  const document = objectAt(value, 'circuit document');
  if (document['format'] !== circuitFormat) throw new CircuitError(`expected format "${circuitFormat}", got ${shown(document['format'])}`);
  if (document['version'] !== circuitVersion) throw new CircuitError(`expected version ${circuitVersion}, got ${shown(document['version'])}`);
  refuseUnknownFields(document, ['format', 'version', 'title', 'temperatureC', 'components', 'output'], 'circuit document');
  const title = document['title'] ?? '';
  if (typeof title !== 'string') throw new CircuitError(`expected title to be a text, got ${shown(title)}`);
  const temperatureC = document['temperatureC'] === undefined ? defaultTemperatureC
    : numberAt(document['temperatureC'], 'temperatureC', { above: absoluteZeroC }, 'circuit document');
  const list = document['components'];
  if (!Array.isArray(list) || list.length === 0) throw new CircuitError(`expected components to be a list of at least one, got ${shown(list)}`);
  const components = list.map((entry: unknown, index) => parseComponent(entry, index));
  refuseRepeatedNames(components);
  refuseSecondInput(components);
  const output = pairAt(document['output'], 'output', 'circuit document');
  const touched = new Set([groundNode, ...components.flatMap(terminalsOf)]);
  for (const node of output) {
    if (!touched.has(node)) throw new CircuitError(`output: expected a node that a component touches, got ${shown(node)}`);
  }
  return { title, temperatureC, components, output };
}

/** The document as canonical JSON text: fixed field order, one component a line, fields at their default left out, newline at the end. */
export function writeCircuitDocument(document: CircuitDocument): string {
  const components = document.components.map((component) => {
    const values = component as unknown as JsonObject;
    const fields: Record<string, unknown> = { kind: component.kind, name: component.name };
    for (const [field, rule] of fieldsOf(component.kind)) {
      if (rule.type !== 'not-yet' && values[field] !== rule.absent) fields[field] = values[field];
    }
    return `    ${JSON.stringify(fields)}`;
  });
  const lines = [
    `  "format": ${JSON.stringify(circuitFormat)}`,
    `  "version": ${circuitVersion}`,
    `  "title": ${JSON.stringify(document.title)}`,
    `  "temperatureC": ${JSON.stringify(document.temperatureC)}`,
    `  "components": [\n${components.join(',\n')}\n  ]`,
    `  "output": ${JSON.stringify(document.output)}`,
  ];
  return `{\n${lines.join(',\n')}\n}\n`;
}

function parseComponent(value: unknown, index: number): Component {
  const place = `components[${index}]`;
  const fields = objectAt(value, place);
  const name = fields['name'];
  if (typeof name !== 'string' || name === '') throw new CircuitError(`${place}: expected name to be a text of at least one character, got ${shown(name)}`);
  const kind = fields['kind'];
  if (typeof kind !== 'string' || !Object.hasOwn(componentFields, kind)) {
    throw new CircuitError(`${name}: unknown kind ${shown(kind)}, expected one of ${Object.keys(componentFields).join(', ')}`);
  }
  const rules = fieldsOf(kind as ComponentKind);
  refuseUnknownFields(fields, ['kind', 'name', ...rules.map(([field]) => field)], name);
  const parsed: Record<string, unknown> = { kind, name };
  for (const [field, rule] of rules) {
    const resolved = fieldAt(fields[field], field, rule, name);
    if (rule.type !== 'not-yet') parsed[field] = resolved;
  }
  return parsed as unknown as Component;
}

function fieldsOf(kind: ComponentKind): [string, FieldRule][] {
  return Object.entries<FieldRule>(componentFields[kind]);
}

function fieldAt(value: unknown, field: string, rule: FieldRule, owner: string): unknown {
  if (rule.absent !== undefined && (value === undefined || (value === null && rule.absent === null))) return rule.absent;
  switch (rule.type) {
    case 'node':
      return nodeAt(value, field, owner);
    case 'pair':
      return pairAt(value, field, owner);
    case 'number':
      return numberAt(value, field, rule.range, owner);
    case 'choice':
      if (typeof value === 'string' && rule.of.includes(value)) return value;
      throw new CircuitError(`${owner}: expected ${field} to be ${rule.of.map((choice) => `"${choice}"`).join(' or ')}, got ${shown(value)}`);
    case 'not-yet':
      if (value === undefined || value === 0) return 0;
      throw new CircuitError(`${owner}: expected ${field} 0 or absent (${rule.because}), got ${shown(value)}`);
  }
}

function nodeAt(value: unknown, field: string, owner: string): string {
  if (typeof value === 'string' && value !== '') return value;
  throw new CircuitError(`${owner}: expected ${field} to be a node name, got ${shown(value)}`);
}

function pairAt(value: unknown, field: string, owner: string): NodePair {
  if (Array.isArray(value) && value.length === 2) return [nodeAt(value[0], `${field}[0]`, owner), nodeAt(value[1], `${field}[1]`, owner)];
  throw new CircuitError(`${owner}: expected ${field} to be two node names, got ${shown(value)}`);
}

function numberAt(value: unknown, field: string, range: NumberRange, owner: string): number {
  const fits = typeof value === 'number' && Number.isFinite(value)
    && !(range.above !== undefined && value <= range.above)
    && !(range.least !== undefined && value < range.least)
    && !(range.most !== undefined && value > range.most);
  // + 0 turns −0 into 0, so that two ways to write nothing give the same bits.
  if (fits) return value + 0;
  throw new CircuitError(`${owner}: expected ${field} ${describeRange(range)}, got ${shown(value)}`);
}

function describeRange({ above, least, most }: NumberRange): string {
  const parts = [];
  if (above !== undefined) parts.push(`> ${above}`);
  if (least !== undefined) parts.push(`≥ ${least}`);
  if (most !== undefined) parts.push(`≤ ${most}`);
  return parts.length === 0 ? 'to be a finite number' : parts.join(' and ');
}

function objectAt(value: unknown, place: string): JsonObject {
  if (typeof value === 'object' && value !== null && !Array.isArray(value)) return value as JsonObject;
  throw new CircuitError(`${place}: expected an object, got ${shown(value)}`);
}

function refuseUnknownFields(fields: JsonObject, known: readonly string[], owner: string): void {
  for (const field of Object.keys(fields)) {
    if (!known.includes(field)) throw new CircuitError(`${owner}: unknown field "${field}", expected one of ${known.join(', ')}`);
  }
}

function refuseRepeatedNames(components: readonly Component[]): void {
  const first = new Map<string, number>();
  components.forEach((component, index) => {
    const other = first.get(component.name);
    if (other !== undefined) {
      throw new CircuitError(`name "${component.name}": expected once, got components[${other}] (${components[other]!.kind}) and components[${index}] (${component.kind})`);
    }
    first.set(component.name, index);
  });
}

function refuseSecondInput(components: readonly Component[]): void {
  const inputs = components.filter((component) => component.kind === 'input');
  if (inputs.length > 1) throw new CircuitError(`expected at most one input, got ${inputs.map((input) => input.name).join(' and ')}`);
}
