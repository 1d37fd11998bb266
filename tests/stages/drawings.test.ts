/** Every drawing says what its netlist says, and leaves room for every value at its longest. */
import { describe, expect, it } from 'vitest';
import { terminalsOf as componentTerminals } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, Component } from '../../dsp/circuit/index.ts';
import { plannedCircuit, surroundings } from '../../dsp/path/index.ts';
import { blockTerminals, defaultValues, drawnComponent, gridPx, stages } from '../../dsp/stages/index.ts';
import type { BlockTerminal, Drawing, Placement, SheetDefinition } from '../../dsp/stages/index.ts';
import { pathOf, planOf } from '../path/support.ts';
import { armsAt, segmentsOf, terminalGroups, terminalsOf } from './support/read-drawing.ts';
import type { Terminal } from './support/read-drawing.ts';
import { wiredVariants } from './support/variants.ts';

interface Drawn {
  readonly id: string;
  readonly stage: SheetDefinition;
  readonly drawing: Drawing;
  readonly document: CircuitDocument;
}

/** The surroundings without the path. */
function surroundingsSheet(): Drawn {
  const path = pathOf([], { surroundings: defaultValues(surroundings) });
  return { id: 'surroundings', stage: surroundings, drawing: surroundings.drawing!, document: plannedCircuit(path, planOf(path).direct!)! };
}

const drawn: readonly Drawn[] = [...stages.filter((stage) => stage.drawing !== null).flatMap(wiredVariants).map(({ name, stage, values }) => ({
  id: name,
  stage,
  drawing: stage.drawingFor?.(values) ?? stage.drawing!,
  document: stage.circuit(values, null)!,
})), surroundingsSheet()];

/** The windings of a transformer by its terminals. */
const windingEnds: Readonly<Record<string, readonly [field: 'primary' | 'secondary', index: 0 | 1]>> = {
  primaryStart: ['primary', 0], primaryEnd: ['primary', 1], secondaryStart: ['secondary', 0], secondaryEnd: ['secondary', 1],
};

/** Node a terminal of a component stands for: by the netlist's own field names. */
function nodeOf(component: Component, terminal: string): string {
  const fields = component as unknown as Record<string, unknown>;
  if (typeof fields[terminal] === 'string') return fields[terminal];
  const winding = windingEnds[terminal];
  if (winding !== undefined) return (fields[winding[0]] as readonly string[])[winding[1]]!;
  const pair = fields['between'] as readonly [string, string];
  if (terminal === 'terminal') return pair[0];
  return pair[terminal === 'a' || terminal === 'plus' ? 0 : 1];
}

/** Node a terminal of a block stands for. */
function blockNode(components: readonly Component[], block: string, { part, field, index }: BlockTerminal): string {
  const component = components.find(({ name }) => name === `${block} ${part}`)!;
  return (component as unknown as Record<string, readonly string[]>)[field]![index]!;
}

const symmetric = new Set(['resistor', 'capacitor', 'inductor', 'core']);

/** Joined sets of terminals, written so that the two ends of a symmetric part are not told apart. */
function drawingNets(drawing: Drawing): string[] {
  const nets = terminalGroups(drawing).map((group) => group.map((terminal) => {
    const { symbol, component } = terminal.placement;
    if (symbol === 'ground' || symbol === 'output') return symbol;
    return symmetric.has(symbol) || symbol === 'supply' || symbol === 'input' ? `${component}` : `${component}.${terminal.name}`;
  }));
  // Every ground symbol is the same node.
  const grounded = nets.filter((net) => net.includes('ground')).flat();
  const all = [...nets.filter((net) => !net.includes('ground')), ...(grounded.length === 0 ? [] : [grounded])];
  return all.map((net) => [...new Set(net)].sort().join(' ')).sort();
}

function netlistNets(components: readonly Component[], placements: readonly Placement[], output: string): string[] {
  const nets = new Map<string, Set<string>>();
  const add = (node: string, what: string): void => {
    nets.set(node, (nets.get(node) ?? new Set()).add(what));
  };
  for (const { symbol, component } of placements) {
    if (!(symbol in blockTerminals)) continue;
    for (const [name, terminal] of Object.entries<BlockTerminal>(blockTerminals[symbol as keyof typeof blockTerminals])) add(blockNode(components, component!, terminal), `${component}.${name}`);
  }
  for (const component of components) {
    const symbol = placements.find((placement) => placement.component === component.name)?.symbol;
    if (symbol === undefined) continue;
    if (symbol === 'supply' || symbol === 'input') add(nodeOf(component, 'terminal'), component.name);
    else if (symmetric.has(symbol)) for (const node of componentTerminals(component)) add(node, component.name);
    else for (const { name } of terminalsOf({ placements: [placements.find((p) => p.component === component.name)!], wires: [] } as unknown as Drawing)) add(nodeOf(component, name), `${component.name}.${name}`);
  }
  add('ground', 'ground');
  add(output, 'output');
  return [...nets.values()].map((net) => [...net].sort().join(' ')).sort();
}

describe.each(drawn)('$id', ({ stage, drawing, document }) => {
  it('joins what its netlist joins', () => {
    expect(drawingNets(drawing)).toEqual(netlistNets(document.components, drawing.placements, document.output[0]));
  });

  it('shows every component once, and none that is not there', () => {
    const shown = drawing.placements.flatMap((placement) => (placement.component === undefined ? [] : [placement.component])).sort();
    expect(shown).toEqual([...new Set(document.components.map((component) => drawnComponent(drawing.placements, component.name)))].sort());
    expect(document.output[1]).toBe('ground');
  });

  it('has a supply or input symbol only for a source that ends at ground', () => {
    for (const placement of drawing.placements) {
      if (placement.symbol !== 'supply' && placement.symbol !== 'input') continue;
      const component = document.components.find((candidate) => candidate.name === placement.component)!;
      expect(component.kind).toBe(placement.symbol === 'input' ? 'input' : 'voltage-source');
      expect((component as { between: readonly string[] }).between[1]).toBe('ground');
    }
  });

  it('edits each value in one place, under the designator of its part', () => {
    const ids = [...drawing.placements.flatMap((placement) => placement.parameter ?? []), ...drawing.values.map((value) => value.parameter)];
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(stage.parameters.map((parameter) => parameter.id)).toContain(id);
    for (const { component, parameter } of drawing.placements) {
      if (parameter === undefined) continue;
      const { designator } = stage.parameters.find((candidate) => candidate.id === parameter)!;
      expect(component!.startsWith(designator!), `${component} is edited as ${designator}`).toBe(true);
    }
  });

  it('reads nodes that exist', () => {
    const nodes = new Set(document.components.flatMap((component) => componentTerminals(component)));
    for (const { node } of drawing.nodeReadings) expect([...nodes]).toContain(node);
  });

  it('fits 640 × 440 px and stays inside its sheet', () => {
    expect(drawing.width * gridPx).toBeLessThanOrEqual(640);
    expect(drawing.height * gridPx).toBeLessThanOrEqual(440);
    for (const [x, y] of [...drawing.wires.flat(), ...terminalsOf(drawing).map((terminal) => terminal.at)]) {
      expect(x >= 0 && x <= drawing.width && y >= 0 && y <= drawing.height, `${x},${y}`).toBe(true);
      expect(Number.isInteger(x) && Number.isInteger(y), `${x},${y}`).toBe(true);
    }
  });

  it('has no four-way joint and no slanting or loose wire', () => {
    for (const segment of segmentsOf(drawing)) expect(segment[0][0] === segment[1][0] || segment[0][1] === segment[1][1]).toBe(true);
    const points = [...drawing.wires.flat(), ...terminalsOf(drawing).map((terminal) => terminal.at)];
    for (const point of points) {
      const arms = armsAt(drawing, point);
      const single = terminalsOf(drawing).some((terminal) => terminal.at[0] === point[0] && terminal.at[1] === point[1]);
      expect(arms, `arms at ${point.join(',')}`).toBeLessThanOrEqual(single ? 4 : 3);
      expect(arms, `arms at ${point.join(',')}`).toBeGreaterThanOrEqual(2);
    }
  });

  it('keeps 8 px between any value at its longest and any line, symbol or other text', () => {
    const problems: string[] = [];
    const texts = textBoxes(drawing);
    texts.forEach((text, k) => {
      for (const other of [...texts.slice(k + 1), ...lineBoxes(drawing), ...symbolBoxes(drawing)]) {
        const gap = gapPx(text, other);
        if (!(gap >= clearancePx)) problems.push(`${text.what} to ${other.what}: ${gap.toFixed(1)} px`);
      }
      const inside = text.left >= 0 && text.top >= 0 && text.right <= drawing.width * gridPx && text.bottom <= drawing.height * gridPx;
      if (!inside) problems.push(`${text.what} leaves the sheet`);
    });
    expect(problems).toEqual([]);
  });
});

interface Box {
  readonly what: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

const clearancePx = 8;
/** Width of a character of the value face, semibold 15 px, and of the reading face, italic 13 px. Estimates; the browser measures the real ones. */
const valueCharacterPx = 8.2;
const readingCharacterPx = 6.8;
const longestValue = '999.9 MΩ';
const longestReading = '−99.9 V';

function gapPx(a: Box, b: Box): number {
  const across = Math.max(a.left - b.right, b.left - a.right);
  const down = Math.max(a.top - b.bottom, b.top - a.bottom);
  return Math.max(across, down);
}

/** Designator (13 px) on its baseline, value 18 px lower with its dotted rule 4 px under the baseline. */
function textBoxes(drawing: Drawing): Box[] {
  const at = (what: string, [x, y]: readonly [number, number], characters: number, hasValue: boolean): Box => ({
    what, left: x * gridPx, top: y * gridPx - 10, right: x * gridPx + characters * (hasValue ? valueCharacterPx : readingCharacterPx), bottom: y * gridPx + (hasValue ? 23 : 4),
  });
  return [
    ...drawing.placements.flatMap((placement) => (placement.label === undefined ? [] : [
      at(placement.component!, placement.label, placement.parameter === undefined ? placement.component!.length : longestValue.length, placement.parameter !== undefined),
    ])),
    ...drawing.values.map((value) => at(value.parameter, value.at, longestValue.length, true)),
    ...drawing.nodeReadings.map((reading) => at(`volts of ${reading.node}`, reading.at, longestReading.length, false)),
  ];
}

function lineBoxes(drawing: Drawing): Box[] {
  return segmentsOf(drawing).map(([[x1, y1], [x2, y2]]) => ({
    what: `wire ${x1},${y1}–${x2},${y2}`,
    left: Math.min(x1, x2) * gridPx, right: Math.max(x1, x2) * gridPx, top: Math.min(y1, y2) * gridPx, bottom: Math.max(y1, y2) * gridPx,
  }));
}

/** Half sizes in px of the drawn bodies: resistor 10 × 30, capacitor plates 24 px 10 apart, devices their terminals' frame. */
function symbolBoxes(drawing: Drawing): Box[] {
  const body = ({ symbol, at: [x, y], turn, component }: Placement): Box => {
    const upright = symbol === 'resistor' ? [5, 15] : symbol === 'capacitor' ? [12, 5] : symbol === 'diode' ? [8, 8] : symbol === 'voltage-source' || symbol === 'current-source' ? [12, 12]
      : symbol === 'inductor' ? [4, 16] : symbol === 'core' ? [12, 16] : symbol === 'transformer' ? [24, 24] : [6, 6];
    const [halfX, halfY] = turn === 90 || turn === 270 ? [upright[1]!, upright[0]!] : [upright[0]!, upright[1]!];
    return { what: component ?? symbol, left: x * gridPx - halfX, right: x * gridPx + halfX, top: y * gridPx - halfY, bottom: y * gridPx + halfY };
  };
  const device = (placement: Placement, terminals: readonly Terminal[]): Box => {
    // From the control electrode's bar (two grid units inside its terminal) to the outermost terminal; a valve's envelope is a circle of four units.
    const [x, y] = placement.at;
    const reach = placement.symbol === 'triode' ? 4 : 2;
    const ys = terminals.map((terminal) => terminal.at[1]);
    // A triangle 56 px high that ends at its output's lead.
    if (placement.symbol === 'op-amp') return { what: placement.component!, left: (x - 2.5) * gridPx, right: (x + 2.75) * gridPx, top: (y - 3.5) * gridPx, bottom: (y + 3.5) * gridPx };
    return {
      what: placement.component!, left: (x - (placement.symbol === 'triode' ? 4 : 3)) * gridPx, right: (x + reach) * gridPx,
      top: Math.min(y, ...ys) * gridPx, bottom: Math.max(y, ...ys) * gridPx,
    };
  };
  return drawing.placements.map((placement) => {
    const terminals = terminalsOf(drawing).filter((terminal) => terminal.placement === placement);
    return terminals.length === 3 ? device(placement, terminals) : body(placement);
  });
}
