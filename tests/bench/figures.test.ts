// What the bench prints for machines: its keys, and null for what was not measured.
import { describe, expect, it } from 'vitest';
import { benchCircuits } from './circuits.ts';
import { figuresOf } from './figures.ts';
import type { NodeFigures } from './figures.ts';
import { median } from './median.ts';

const names = Object.keys(benchCircuits);
const node: NodeFigures = {
  kernels: Object.fromEntries(names.map((name, k) => [name, { nsPerSample: 30 + k, ratioToCppO3: 0.6, ratioToCppNativeTwoLane: null, rule: 'T1' }])),
  chain: { realTimeT1: 6, realTimeListening: 4, firstBlocks: [{ start: 0.6, change: 0.9 }, { start: 3, change: 0.8 }, { start: 0.5, change: 0.7 }] },
  levelSweep: { sweeps: [{ frequencyHz: 1000, totalMilliseconds: 150, firstPointsMilliseconds: 3, longestStepMilliseconds: 5 }] },
  simulator: { at1kHz: names.map((_, k) => ({ ratio: 30 - k })), at10kHz: names.slice(1).map(() => ({ ratio: 50 })) },
};

describe('figuresOf', () => {
  it('gives every circuit its kernel, the median of the worst blocks and the smallest ratio', () => {
    const figures = figuresOf(node, { realTimeListening: 3.5, lateBlocks: 2 }, { realTimePerCore: 11, twoWorkersRatio: 1.9 });
    expect(Object.keys(figures.kernels)).toEqual(['common-emitter', 'push-pull', 'op-amp-loop', 'transformer-line', 'five-transistor']);
    expect(figures.kernels['push-pull']).toEqual({ nsPerSample: 31, ratioToCppO3: 0.6, ratioToCppNativeTwoLane: null, rule: 'T1' });
    expect(figures.chain).toEqual({ realTimeT1: 6, realTimeListening: 4, worstBlockRatio: 0.9 });
    expect(figures.chromium).toEqual({ realTimeListening: 3.5, lateBlocks: 2 });
    expect(figures.render).toEqual({ realTimePerCore: 11, twoWorkersRatio: 1.9 });
    expect(figures.levelSweep).toEqual({ '1000Hz': { totalMilliseconds: 150, firstPointsMilliseconds: 3 } });
    expect(figures.simulatorRatio.at1kHz).toBe(26);
  });

  it('says null for what was not measured, and for a smallest ratio with a circuit missing', () => {
    const figures = figuresOf({ ...node, simulator: { ...node.simulator, at1kHz: null } }, null, null);
    expect(figures.chromium).toEqual({ realTimeListening: null, lateBlocks: null });
    expect(figures.render).toEqual({ realTimePerCore: null, twoWorkersRatio: null });
    expect(figures.simulatorRatio).toEqual({ at1kHz: null, at10kHz: null });
  });
});

describe('median', () => {
  it('takes the middle one and refuses none', () => {
    expect(median([9, 1, 5])).toBe(5);
    expect(() => median([])).toThrow('expected at least one value');
  });
});
