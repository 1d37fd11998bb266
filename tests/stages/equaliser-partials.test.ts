/** Which partials of a note a bell holds up. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { noteHertz, noteName, partialsWithin } from '../../dsp/stages/equaliser/partials.ts';

describe('partials within a bell', () => {
  it('are those of which the frequency lies between its half-gain points', () => {
    // D4 under a bell of one octave round 2 kHz: 1414 to 2828 Hz; 293.66 Hz times 5 … 9.
    expect(partialsWithin(293.66, [2000 / Math.SQRT2, 2000 * Math.SQRT2]).map(({ order }) => order)).toEqual([5, 6, 7, 8, 9]);
    expect(partialsWithin(440, [430, 450])).toEqual([{ order: 1, hz: 440 }]);
    expect(partialsWithin(440, [450, 870])).toEqual([]);
    expect(partialsWithin(100, [100, 300]).map(({ hz }) => hz)).toEqual([100, 200, 300]);
    expect(partialsWithin(9000, [17e3, 40e3]).map(({ order }) => order)).toEqual([2]);
  });

  it('leave none out and take none in, whatever note and bell', () => {
    fc.assert(fc.property(fc.double({ min: 20, max: 4000, noNaN: true }), fc.double({ min: 20, max: 19_000, noNaN: true }), fc.double({ min: 1.001, max: 8, noNaN: true }), (note, from, ratio) => {
      const orders = new Set(partialsWithin(note, [from, from * ratio]).map(({ order }) => order));
      for (let order = 1; order * note <= 20_000; order += 1) if (orders.has(order) !== (order * note >= from && order * note <= from * ratio)) return false;
      return true;
    }), { seed: 20261125, numRuns: 300 });
  });
});

describe('notes by name', () => {
  it.each([['A4', 440], ['a4', 440], ['C4', 261.6256], ['D4', 293.6648], ['F#3', 184.9972], ['Bb2', 116.5409], ['E♭5', 622.254], ['B3', 246.9417], ['A0', 27.5], ['Cb4', 246.9417]] as const)('%s is %d Hz', (name, hz) => {
    expect(Math.abs(noteHertz(name)! / hz - 1)).toBeLessThan(1e-6);
  });

  it.each(['H4', 'A', '4', 'A4x', 'A#b4', '', '440'])('"%s" is none', (name) => {
    expect(noteHertz(name)).toBeNull();
  });

  it('and back again', () => {
    for (const name of ['A4', 'C4', 'B3', 'E♭5', 'F♯3', 'A0', 'C8']) expect(noteName(noteHertz(name)!)).toBe(name);
    expect(noteName(450)).toBe('A4');
  });
});
