import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Arena, roundedUp } from '../../dsp/webassembly/index.ts';

const arenaOf = (bytes: number): Arena => new Arena(new ArrayBuffer(bytes), 0, bytes);

describe('roundedUp', () => {
  it.each([[0, 0], [1, 16], [15, 16], [16, 16], [17, 32], [8 * 513, 4112]])('takes %i bytes to %i', (bytes, rounded) => expect(roundedUp(bytes)).toBe(rounded));
});

describe('an arena', () => {
  it('hands out zeroed arrays, each at a multiple of 16 bytes, none over another', () => {
    fc.assert(fc.property(fc.array(fc.integer({ min: 0, max: 40 }), { maxLength: 30 }), (lengths) => {
      const arena = arenaOf(16_384);
      new Float64Array(arena.buffer).fill(7);
      const arrays = lengths.map((length) => arena.floats(length));
      let end = 0;
      arrays.forEach((array, k) => {
        expect(array.length).toBe(lengths[k]);
        expect(array.every((value) => value === 0)).toBe(true);
        expect(array.byteOffset % 16).toBe(0);
        expect(array.byteOffset).toBeGreaterThanOrEqual(end);
        expect(arena.holds(array)).toBe(true);
        end = array.byteOffset + array.byteLength;
      });
      expect(arena.freeBytes).toBe(16_384 - lengths.reduce((sum, length) => sum + roundedUp(8 * length), 0));
    }), { seed: 20261125 });
  });

  it('refuses what does not fit, says how much there is, and loses nothing by it', () => {
    const arena = arenaOf(64);
    arena.floats(3);
    expect(() => arena.floats(5)).toThrow(new RangeError('arena: expected room for 48 bytes, got 32 of 64'));
    expect(() => arena.part(48)).toThrow(RangeError);
    expect(arena.floats(4).length).toBe(4);
    expect(arena.freeBytes).toBe(0);
  });

  it('hands out parts that keep inside their bounds and are cleared apart', () => {
    const arena = arenaOf(160);
    const before = arena.floats(2);
    const part = arena.part(40);
    const after = arena.floats(2);
    expect(part.freeBytes).toBe(48);
    const inside = part.floats(6);
    expect(() => part.floats(1)).toThrow(RangeError);
    inside.fill(5);
    expect([...before, ...after]).toEqual([0, 0, 0, 0]);
    expect(inside.byteOffset).toBe(before.byteOffset + 16);
    part.clear();
    const reused = part.floats(2);
    expect(reused.byteOffset).toBe(inside.byteOffset);
    expect([...reused]).toEqual([0, 0]);
    expect(part.freeBytes).toBe(32);
    expect(arena.freeBytes).toBe(160 - 16 - 48 - 16);
  });

  it('starts again from its first byte when cleared', () => {
    const arena = new Arena(new ArrayBuffer(256), 32, 96);
    expect(arena.floats(1).byteOffset).toBe(32);
    arena.floats(4);
    arena.clear();
    expect(arena.freeBytes).toBe(64);
    expect(arena.floats(8).byteOffset).toBe(32);
  });

  it('knows arrays of other memories', () => {
    expect(arenaOf(32).holds(new Float64Array(2))).toBe(false);
    expect(arenaOf(32).holds(arenaOf(32).floats(2))).toBe(false);
  });
});
