import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { layOutCells, narrowestCellPx, widestCellPx } from '../../ui/page/elements/path-layout.ts';

describe('the cells of the path', () => {
  it.each([[3, 1040, [3], 104], [10, 1040, [10], 104], [10, 760, [10], 76], [10, 700, [5, 5], 104], [11, 720, [6, 5], 104], [20, 400, [5, 5, 5, 5], 80], [1, 40, [1], 40]])(
    '%i in %d px: lines %j of %d px', (count, room, lines, cellPx) => expect(layOutCells(count, room)).toEqual({ lines, cellPx }));

  it('hold every stage, are never narrower than they may be, and fit the room', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 20 }), fc.integer({ min: 80, max: 2000 }), (count, room) => {
      const { lines, cellPx } = layOutCells(count, room);
      return lines.reduce((sum, line) => sum + line, 0) === count && Math.max(...lines) === lines[0] && lines[0]! * cellPx <= room
        && cellPx >= narrowestCellPx && cellPx <= widestCellPx;
    }), { seed: 20261125 });
  });

  it('are none for an empty path', () => expect(layOutCells(0, 500).lines).toEqual([]));
});
