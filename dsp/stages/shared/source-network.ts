/** How one circuit begins with the output network of the stage before it. */
import type { Component } from '../../circuit/index.ts';
import type { OutputNetwork } from '../contract.ts';

const prefix = 'previous ';

/** The ideal input and, behind it, the previous stage's output network. */
export interface SourceNetwork {
  /** Node the stage's own first part is wired to. */
  readonly node: string;
  readonly components: readonly Component[];
}

/**
 * Input source IN from ground to node "in", then the components of `source` with their names and inner nodes prefixed "previous ".
 * Null or empty: the stage is wired to the ideal input itself. The network must consist of two-terminal linear components.
 */
export function sourceNetwork(source: OutputNetwork | null): SourceNetwork {
  const input: Component = { kind: 'input', name: 'IN', between: ['in', 'ground'], biasVolts: 0 };
  if (source === null || source.components.length === 0) return { node: 'in', components: [input] };
  const renamed = (node: string): string => (node === source.from ? 'in' : prefix + node);
  return {
    node: renamed(source.to),
    components: [input, ...source.components.map((component) => prefixed(component, renamed))],
  };
}

/**
 * The network of the stage before as a part of one's own, impedances divided by `divisor`: from "electromotive" to `node`. For a stage that lets through what stands before it:
 * a transformer, a line.
 */
export function networkBehind(source: OutputNetwork | null, divisor = 1): SourceNetwork {
  const from = 'electromotive';
  if (source === null || source.components.length === 0) return { node: from, components: [] };
  const renamed = (node: string): string => (node === source.from ? from : prefix + node);
  return { node: renamed(source.to), components: source.components.map((component) => divided(prefixed(component, renamed), divisor)) };
}

function divided(component: Component, divisor: number): Component {
  switch (component.kind) {
    case 'resistor': return { ...component, ohms: component.ohms / divisor };
    case 'inductor': return { ...component, henries: component.henries / divisor };
    case 'capacitor': return { ...component, farads: component.farads * divisor };
    default: return component;
  }
}

function prefixed(component: Component, renamed: (node: string) => string): Component {
  const name = prefix + component.name;
  switch (component.kind) {
    case 'resistor':
    case 'capacitor':
    case 'inductor':
      return { ...component, name, between: [renamed(component.between[0]), renamed(component.between[1])] };
    default:
      throw new Error(`${component.name}: an output network holds resistors, capacitors and inductors, got ${component.kind}`);
  }
}
