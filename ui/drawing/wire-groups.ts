/** What a drawing's wires join: junction dots, and where a node of the netlist lies on the sheet. Pure. */
import { symbolTerminals, terminalPoint } from '../../dsp/stages/drawing.ts';
import type { Drawing, Placement, Point } from '../../dsp/stages/drawing.ts';

/** Whether a point lies on a horizontal or vertical run, its ends included. */
function onRun([x, y]: Point, [x1, y1]: Point, [x2, y2]: Point): boolean {
  return x >= Math.min(x1, x2) && x <= Math.max(x1, x2) && y >= Math.min(y1, y2) && y <= Math.max(y1, y2);
}

const same = (a: Point, b: Point) => a[0] === b[0] && a[1] === b[1];

/** Terminals of a placement on the sheet. */
export function terminalsOf(placement: Placement): Point[] {
  return Object.values(symbolTerminals[placement.symbol]).map((terminal) => terminalPoint(placement, terminal as Point));
}

/** Ways that leave a point along a wire: 0 when it is not on it, 1 at its ends, 2 inside it. */
function waysAlong(wire: readonly Point[], point: Point): number {
  if (same(wire[0]!, point) || same(wire.at(-1)!, point)) return 1;
  return wire.some((end, index) => index > 0 && onRun(point, wire[index - 1]!, end)) ? 2 : 0;
}

/** Ends and terminals, each once. */
function joints(drawing: Drawing): Point[] {
  const points = [...drawing.wires.flatMap((wire) => [wire[0]!, wire.at(-1)!]), ...drawing.placements.flatMap(terminalsOf)];
  return points.filter((point, index) => points.findIndex((other) => same(other, point)) === index);
}

/** Where a dot stands: three or more ways (wires or terminals) meet at an end or a terminal. Crossing wires do not join. */
export function junctionDots(drawing: Drawing): Point[] {
  const terminals = drawing.placements.flatMap(terminalsOf);
  return joints(drawing).filter((point) => {
    const along = drawing.wires.reduce((sum, wire) => sum + waysAlong(wire, point), 0);
    return along + terminals.filter((terminal) => same(terminal, point)).length >= 3;
  });
}

/** One connected set of wires and terminals. */
export interface WireGroup {
  /** Joints of the group, ends and terminals. */
  readonly points: readonly Point[];
  /** Components with a terminal here, ascending, one entry a terminal. */
  readonly components: readonly string[];
}

/** Reads the wires back into connected groups. */
export function wireGroups(drawing: Drawing): WireGroup[] {
  const points = joints(drawing);
  const group = points.map((_, index) => index);
  const root = (index: number): number => (group[index] === index ? index : root(group[index]!));
  for (const wire of drawing.wires) {
    const touched = points.flatMap((point, index) => (waysAlong(wire, point) > 0 ? [index] : []));
    for (const index of touched) group[root(index)] = root(touched[0]!);
  }
  const roots = points.map((_, index) => root(index));
  return [...new Set(roots)].map((of) => {
    const members = points.filter((_, index) => roots[index] === of);
    const components = drawing.placements.flatMap((placement) => (placement.component === undefined ? [] : terminalsOf(placement)
      .filter((terminal) => members.some((member) => same(member, terminal))).map(() => placement.component!)));
    return { points: members, components: components.sort() };
  });
}

/**
 * Where a node lies on the sheet: the first joint of the only group that touches at least the components given (those of the netlist that have a
 * terminal at the node). Null when no group, or more than one, does.
 */
export function pointOfNode(drawing: Drawing, componentsAtNode: readonly string[]): Point | null {
  const drawn = new Set(drawing.placements.flatMap(({ component }) => (component === undefined ? [] : [component])));
  const wanted = componentsAtNode.filter((component) => drawn.has(component));
  if (wanted.length === 0) return null;
  const touching = wireGroups(drawing).filter(({ components }) => wanted.every((component) => components.includes(component)));
  return touching.length === 1 ? touching[0]!.points[0]! : null;
}
