/** Several circuits made one. */
import { CircuitError, componentFields, groundNode } from '../circuit/index.ts';
import type { CircuitDocument, Component, VoltageSource } from '../circuit/index.ts';

/** A circuit and the ideal level control between it and the next one. */
export interface JoinedPart {
  readonly document: CircuitDocument;
  /** Before the names of its components and nodes: no two parts have the same. */
  readonly prefix: string;
  /** Voltage ratio of the control behind it, sign and all; passed over for the last part. */
  readonly gain: number;
}

/**
 * One document of `parts` in series: names of components and nodes get their part's prefix ("2 RC"), the input of every part but the first
 * falls away and its node becomes the output of the part before, and ideal supplies that have the voltage of an earlier part's become that one. The output is
 * the last part's.
 *
 * The level control (make-up of one stage, drive of the next, a reversal) is ideal and keeps impedances: voltage times g, current times 1/g, so that what
 * a stage sees of the next is what it would see without it, as where the next circuit contains the stage's output network. It is an ideal transformer
 * g : 1, which gives u/g and asks for i/g, and an amplifier of g² − 1 in series with its secondary. A control of 1 is a wire.
 *
 * Direct voltage passes. Throws CircuitError where temperatures differ, an output is not against ground, or a part has no input against ground.
 */
export function joinDocuments(parts: readonly JoinedPart[]): CircuitDocument {
  const components: Component[] = [];
  const supplies = new Map<number, string>();
  let output = groundNode;
  parts.forEach(({ document, prefix }, index) => {
    const { temperatureC } = parts[0]!.document;
    if (document.temperatureC !== temperatureC) throw new CircuitError(`"${document.title}": expected ${temperatureC} °C as in "${parts[0]!.document.title}", got ${document.temperatureC} °C`);
    if (document.output[1] !== groundNode) throw new CircuitError(`"${document.title}": expected an output against ground, got ${document.output[1]}`);
    const names = new Map<string, string>([[groundNode, groundNode]]);
    const drive = inputNode(document);
    if (index > 0) names.set(drive, levelControl(components, output, parts[index - 1]!.gain, `${index} to ${index + 1}`));
    const merged = new Set<Component>();
    const own = new Map<number, string>();
    for (const component of document.components) {
      if (!isSupply(component)) continue;
      const { between: [node], volts } = component;
      const shared = supplies.get(volts);
      if (shared === undefined) own.set(volts, own.get(volts) ?? prefix + node);
      else {
        names.set(node, shared);
        merged.add(component);
      }
    }
    for (const [volts, node] of own) supplies.set(volts, node);
    const renamed = (node: string): string => names.get(node) ?? prefix + node;
    for (const component of document.components) {
      if (merged.has(component) || (index > 0 && component.kind === 'input')) continue;
      components.push(renameNodes({ ...component, name: prefix + component.name }, renamed));
    }
    output = renamed(document.output[0]);
  });
  return {
    title: parts.map(({ document }) => document.title).join(' + '),
    temperatureC: parts[0]!.document.temperatureC,
    components,
    output: [output, groundNode],
  };
}

/** Node behind an ideal control of `gain`, whose parts are added. */
function levelControl(components: Component[], node: string, gain: number, name: string): string {
  if (gain === 1) return node;
  const size = Math.abs(gain);
  const divided = size === 1 ? `level ${name}` : `level ${name} divided`;
  components.push({
    kind: 'ideal-transformer', name: `level ${name} T`, primary: [node, groundNode], secondary: gain > 0 ? [divided, groundNode] : [groundNode, divided], turnsRatio: size,
  });
  if (size === 1) return divided;
  components.push({ kind: 'amplifier', name: `level ${name} A`, out: [`level ${name}`, divided], in: [divided, groundNode], gain: size * size - 1 });
  return `level ${name}`;
}

function inputNode({ title, components }: CircuitDocument): string {
  const input = components.find((component) => component.kind === 'input');
  if (input === undefined || input.between[1] !== groundNode || input.biasVolts !== 0) throw new CircuitError(`"${title}": expected an input without bias against ground`);
  return input.between[0];
}

/** An ideal source against ground that is not a wire. */
function isSupply(component: Component): component is VoltageSource {
  return component.kind === 'voltage-source' && component.volts !== 0 && component.between[1] === groundNode && component.between[0] !== groundNode;
}

/** By the table of fields, so that kinds to come need no line here. */
function renameNodes(component: Component, renamed: (node: string) => string): Component {
  const fields: Record<string, unknown> = { ...component };
  for (const [field, rule] of Object.entries(componentFields[component.kind])) {
    if (rule.type === 'node') fields[field] = renamed(fields[field] as string);
    if (rule.type === 'pair') fields[field] = (fields[field] as readonly string[]).map(renamed);
  }
  return fields as unknown as Component;
}
