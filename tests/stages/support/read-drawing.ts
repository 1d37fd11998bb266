/** Reads a drawing back: which terminals its wires join. */
import { symbolTerminals, terminalPoint } from '../../../dsp/stages/index.ts';
import type { Drawing, Placement, Point } from '../../../dsp/stages/index.ts';

export type Segment = readonly [Point, Point];

export interface Terminal {
  readonly placement: Placement;
  readonly name: string;
  readonly at: Point;
}

export function segmentsOf(drawing: Drawing): Segment[] {
  return drawing.wires.flatMap((wire) => wire.slice(1).map((point, k): Segment => [wire[k]!, point]));
}

export function terminalsOf(drawing: Drawing): Terminal[] {
  return drawing.placements.flatMap((placement) =>
    Object.entries(symbolTerminals[placement.symbol]).map(([name, offset]) => ({ placement, name, at: terminalPoint(placement, offset as Point) })));
}

const between = (x: number, a: number, b: number): boolean => x >= Math.min(a, b) && x <= Math.max(a, b);

export function liesOn([x, y]: Point, [[x1, y1], [x2, y2]]: Segment): boolean {
  return x1 === x2 ? x === x1 && between(y, y1, y2) : y === y1 && between(x, x1, x2);
}

/**
 * Terminals by joined group. Wires join where an end of one lies on another, terminals join what they lie on and each other; two wires that merely
 * cross do not join.
 */
export function terminalGroups(drawing: Drawing): Terminal[][] {
  const wires = drawing.wires.map((wire) => wire.slice(1).map((point, k): Segment => [wire[k]!, point]));
  const terminals = terminalsOf(drawing);
  const parent = [...wires, ...terminals].map((_, k) => k);
  const root = (k: number): number => (parent[k] === k ? k : root(parent[k]!));
  const join = (a: number, b: number): void => {
    parent[root(a)] = root(b);
  };
  drawing.wires.forEach((wire, a) => {
    for (const end of [wire[0]!, wire[wire.length - 1]!]) {
      wires.forEach((segments, b) => {
        if (segments.some((segment) => liesOn(end, segment))) join(a, b);
      });
    }
  });
  terminals.forEach((terminal, k) => {
    wires.forEach((segments, b) => {
      if (segments.some((segment) => liesOn(terminal.at, segment))) join(wires.length + k, b);
    });
    terminals.forEach((other, j) => {
      if (other.at[0] === terminal.at[0] && other.at[1] === terminal.at[1]) join(wires.length + k, wires.length + j);
    });
  });
  const groups = new Map<number, Terminal[]>();
  terminals.forEach((terminal, k) => {
    const key = root(wires.length + k);
    groups.set(key, [...(groups.get(key) ?? []), terminal]);
  });
  return [...groups.values()];
}

/** How many wire arms and terminals leave a point: a wire through it counts twice. */
export function armsAt(drawing: Drawing, [x, y]: Point): number {
  let arms = terminalsOf(drawing).filter((terminal) => terminal.at[0] === x && terminal.at[1] === y).length;
  for (const segment of segmentsOf(drawing)) {
    if (!liesOn([x, y], segment)) continue;
    for (const [ex, ey] of segment) if (ex !== x || ey !== y) arms += 1;
  }
  return arms;
}
