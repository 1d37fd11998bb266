// Where a circuit clips: found from below, from above and through crossover, against laws whose distortion is known in closed form.
import { describe, expect, it } from 'vitest';
import { buildProgram, findClipping } from '../../dsp/circuit/index.ts';
import type { CircuitProgram, ClippingSearch } from '../../dsp/circuit/index.ts';
import { circuitDesign } from '../support/documents.ts';
import { input, parsedOf, resistor } from '../support/circuits.ts';
import { unstableOpAmpLoop } from '../support/unstable.ts';
import { expectWithin, rateHz } from './support.ts';

/** y = tanh x, x in volts. */
const saturating = buildProgram(parsedOf([
  input('in'), { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'ground'], maxAmperes: 1e-3, scaleVolts: 1 }, resistor('R1', 'o', 'ground', 1000),
], ['o', 'ground']), { rateHz });

const search: ClippingSearch = { referencePeakVolts: 1, lowestDb: -40, highestDb: 20, coarseDb: 4, fineDb: 0.1 };

/** THD F of orders 2–9 of tanh(a cos φ), by summing over 4,096 points. */
function thdOfTanh(a: number): number {
  const n = 4096;
  const amplitude = (order: number): number => {
    let sum = 0;
    for (let i = 0; i < n; i += 1) sum += Math.tanh(a * Math.cos((2 * Math.PI * i) / n)) * Math.cos((2 * Math.PI * order * i) / n);
    return (2 / n) * sum;
  };
  return Math.hypot(...[3, 5, 7, 9].map(amplitude)) / amplitude(1);
}

const levelOf = (program: CircuitProgram, changes: Partial<ClippingSearch> = {}): number => findClipping(program, { ...search, ...changes })!.above.levelDb;

describe('the clipping level', () => {
  it('is where the law itself reaches 1 %', () => {
    const { below, above } = findClipping(saturating, search)!;
    expect(above.levelDb - below.levelDb).toBeLessThanOrEqual(0.1);
    expect(thdOfTanh(10 ** (below.levelDb / 20))).toBeLessThan(0.01);
    expect(thdOfTanh(10 ** (above.levelDb / 20))).toBeGreaterThanOrEqual(0.01);
    expectWithin(above.thd, thdOfTanh(10 ** (above.levelDb / 20)), 1e-9);
    expectWithin(above.outputPeakVolts, 10 ** (above.levelDb / 20), 0.1);
  });

  it('does not depend on where looking begins, below or above it', () => {
    // 0.1 dB: each search bisects from levels of its own.
    for (const firstDb of [-38, -10, 3, 17]) expectWithin(levelOf(saturating, { firstDb }), levelOf(saturating), 0.1, `from ${firstDb} dB`);
  });

  it('is not mistaken for crossover, from wherever looking begins', () => {
    const { document, nominalPeakVolts } = circuitDesign('push-pull-pair');
    const pair = buildProgram(document(), { rateHz, nominalPeakVolts });
    const levels = [-24, -4, 0].map((firstDb) => levelOf(pair, { referencePeakVolts: nominalPeakVolts, lowestDb: -24, highestDb: 12, fineDb: 0.5, firstDb }));
    for (const level of levels) expectWithin(nominalPeakVolts * 10 ** (level / 20), 15.9, 0.9, 'volts');
  });

  it('is none where 1 % is never crossed, and where nothing repeats itself', () => {
    expect(findClipping(saturating, { ...search, highestDb: -20 })).toBeNull();
    expect(findClipping(saturating, { ...search, lowestDb: 4, firstDb: 4 })).toBeNull();
    expect(findClipping(buildProgram(unstableOpAmpLoop(2.8e-9), { rateHz }), search)).toBeNull();
  });
});
