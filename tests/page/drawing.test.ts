import { describe, expect, it } from 'vitest';
import { stages, symbolTerminals, terminalPoint } from '../../dsp/stages/index.ts';
import type { Drawing, Placement, Point, SymbolName } from '../../dsp/stages/index.ts';
import { faultPlace } from '../../ui/page/drawing/fault-place.ts';
import { signParts } from '../../ui/page/drawing/stage-sign.ts';
import { placementTransform, symbolStrokes } from '../../ui/drawing/symbols.ts';
import { junctionDots, pointOfNode, wireGroups } from '../../ui/drawing/wire-groups.ts';
import { stageGroups } from '../../ui/page/stage-groups.ts';

/** Divider between a supply and earth, tapped to the output, with a wire that crosses and does not join. */
const divider: Drawing = {
  width: 30, height: 30, values: [], nodeReadings: [],
  placements: [
    { symbol: 'supply', component: 'V1', at: [10, 2] }, { symbol: 'resistor', component: 'R1', at: [10, 7] }, { symbol: 'resistor', component: 'R2', at: [10, 17] },
    { symbol: 'ground', at: [10, 24] }, { symbol: 'output', at: [20, 12] },
  ],
  wires: [[[10, 2], [10, 4]], [[10, 10], [10, 14]], [[10, 12], [20, 12]], [[10, 20], [10, 24]], [[15, 5], [15, 18]]],
};

describe('wires', () => {
  it('join where an end lies on another wire and not where they cross', () => {
    expect(junctionDots(divider)).toEqual([[10, 12]]);
    expect(wireGroups(divider).map(({ components }) => components.join(' '))).toEqual(['R1 V1', 'R1 R2', 'R2', '']);
  });

  it('say where a node lies by the components at it', () => {
    expect(pointOfNode(divider, ['R1', 'R2'])).toEqual([10, 10]);
    expect(pointOfNode(divider, ['R2', 'V1'])).toBeNull();
    expect(pointOfNode(divider, ['R1'])).toBeNull();
    expect(pointOfNode(divider, ['elsewhere'])).toBeNull();
  });

  it.each(stages.filter(({ drawing }) => drawing !== null).map((stage) => [stage.id, stage] as const))('of %s place every node of its circuit once', (_, stage) => {
    const document = stage.circuit(Object.fromEntries(stage.parameters.map((parameter) => [parameter.id, parameter.default])), null)!;
    for (const { node } of stage.drawing!.nodeReadings) {
      const point = faultPlace(stage.drawing!, document, node);
      expect(point, node).not.toBeNull();
      expect(wireGroups(stage.drawing!).filter(({ points }) => points.some(([x, y]) => x === point![0] && y === point![1])), node).toHaveLength(1);
    }
  });
});

describe('a fault', () => {
  it('is circled at the component it names, or nowhere when it names nothing drawn', () => {
    expect(faultPlace(divider, null, 'R2')).toEqual([10, 17]);
    expect(faultPlace(divider, null, 'R9')).toBeNull();
    expect(faultPlace(divider, null, null)).toBeNull();
  });
});

/** Ends of the open subpaths of a symbol, px: where a wire can reach it. */
function strokeEnds(symbol: SymbolName): Point[] {
  return symbolStrokes[symbol].flatMap(({ path }) => {
    let [x, y] = [0, 0];
    const points: Point[] = [];
    for (const [, command, numbers] of path.matchAll(/([MLHVaZSCc])([^A-Za-z]*)/g)) {
      const values = numbers!.trim().split(/[\s,]+|(?=-)/).filter((text) => text !== '').map(Number);
      if (command === 'M' || command === 'L') [x, y] = values.slice(-2) as [number, number];
      else if (command === 'H') x = values[0]!;
      else if (command === 'V') y = values[0]!;
      points.push([x, y]);
    }
    return points;
  });
}

describe('symbols', () => {
  it.each(Object.keys(symbolTerminals) as SymbolName[])('%s reaches each of its terminals', (symbol) => {
    const ends = strokeEnds(symbol);
    const openEnd = ['supply', 'input', 'output'].includes(symbol);
    for (const [name, [x, y]] of Object.entries(symbolTerminals[symbol]) as [string, Point][]) {
      // An open end is a circle of radius 3 round its terminal.
      const reach = openEnd ? 3 : 0;
      expect(ends.some(([ex, ey]) => Math.hypot(ex - 8 * x, ey - 8 * y) <= reach), `${symbol} ${name}`).toBe(true);
    }
  });

  it.each([[undefined, false], [90, false], [180, false], [270, false], [undefined, true], [90, true]] as const)('turned %s, mirrored %s, go where the data says', (turn, mirrored) => {
    const placement: Placement = { symbol: 'bipolar-npn', at: [10, 20], ...(turn === undefined ? {} : { turn }), mirrored };
    const [x, y] = symbolTerminals['bipolar-npn'].emitter;
    const angle = (turn ?? 0) * Math.PI / 180;
    const flipped = mirrored ? -x : x;
    const expected = [10 + flipped * Math.cos(angle) - y * Math.sin(angle), 20 + flipped * Math.sin(angle) + y * Math.cos(angle)];
    const point = terminalPoint(placement, [x, y]);
    expect(Math.hypot(point[0] - expected[0]!, point[1] - expected[1]!) < 1e-9).toBe(true);
    expect(placementTransform(placement)).toBe(`translate(80 160)${turn ? ` rotate(${turn})` : ''}${mirrored ? ' scale(-1 1)' : ''}`);
  });

  it('hold the sizes of the design: resistor 10 × 30, plates 24 long and 10 apart', () => {
    expect(symbolStrokes.resistor.map(({ path }) => path)).toContain('M-5 -15H5V15H-5Z');
    expect(symbolStrokes.capacitor.filter(({ weight }) => weight === 'symbol').map(({ path }) => path)).toEqual(['M-12 -5H12', 'M-12 5H12']);
  });
});

describe('signs', () => {
  const amplifying = new Set(stageGroups().find(({ title }) => title === 'Amplifying')!.stages.map(({ id }) => id));

  it.each(stages.map((stage) => [stage.id, stage] as const))('of %s is a fragment of its own drawing where it amplifies', (id, stage) => {
    const parts = signParts(stage);
    const strokes = parts.flatMap((part) => part.strokes);
    expect(strokes.length).toBeGreaterThan(0);
    if (!amplifying.has(id)) return;
    const drawn = stage.drawing!.placements.flatMap(({ symbol }) => symbolStrokes[symbol]);
    expect(strokes.some((stroke) => drawn.includes(stroke)), id).toBe(true);
  });

  it('differ between a bell and a shelf, a line and a bus', () => {
    const words = ['equaliser-bell', 'equaliser-shelf', 'line', 'summing-bus', 'harmonic-shaping'].map((id) => JSON.stringify(signParts({ id, drawing: null })));
    expect(new Set(words).size).toBe(words.length);
  });
});

describe('the groups of the chooser', () => {
  it('hold every stage once, also one that none of them names', () => {
    const all = [...stages, { ...stages[0]!, id: 'not-yet-known' }];
    const grouped = stageGroups(all).flatMap((group) => group.stages.map(({ id }) => id));
    expect(grouped.slice().sort()).toEqual(all.map(({ id }) => id).sort());
    expect(stageGroups(all).at(-1)!.stages.at(-1)!.id).toBe('not-yet-known');
    expect(stageGroups().every((group) => group.stages.length > 0)).toBe(true);
  });
});
