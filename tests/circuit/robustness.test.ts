// What no studio does to a stage must still be solved, sample by sample, and in a known time: see tests/support/stress.ts for the circuits and signals.
import { describe, expect, it } from 'vitest';
import { buildProgram } from '../../dsp/circuit/index.ts';
import { stress, stressDocuments, stressSignals, stressStages } from '../support/stress.ts';
import type { StressCircuit, StressResult } from '../support/stress.ts';
import { rateHz } from './support.ts';

const seed = 20261125;
/**
 * Device evaluations of all instances in one internal sample (under T24 a bound: the worst step of each instance times its steps), and in a block of 128 base frames, of one
 * channel: what the audio thread must have time for at worst. Under T1 30,000 do for eight ports; the op-amp stages have up to fourteen, and clicks of 100 V throw them from rail to rail.
 */
const mostInOneSample = { T1: 384, T24: 1024 };
const mostInOneBlock = { T1: 56_000, T24: 64_000 };

function through(circuits: readonly StressCircuit[], rule: 'T1' | 'T24', share: number): void {
  const signals = stressSignals(rateHz, seed, share);
  const results = circuits.map((circuit) => stress(circuit, buildProgram(circuit.document, { rateHz, rule }), signals));
  console.log(tableOf(results, rule));
  expect(results.flatMap(({ failures }) => failures), `seed ${seed}`).toEqual([]);
  for (const { name, worstSample, worstBlock } of results) {
    expect(worstSample, `${name}: evaluations in one sample`).toBeLessThanOrEqual(mostInOneSample[rule]);
    expect(worstBlock, `${name}: evaluations in one block`).toBeLessThanOrEqual(mostInOneBlock[rule]);
  }
  // The set has to be one that plain Newton cannot do.
  expect(results.reduce((sum, { rescues }) => sum + rescues, 0)).toBeGreaterThan(1000);
}

/** The hardest by their worst block, and all together. */
function tableOf(results: readonly StressResult[], rule: string): string {
  const row = (name: string, ...cells: (number | string)[]): string => `  ${name.padEnd(48)}${cells.map((cell) => String(cell).padStart(12)).join('')}`;
  const hardest = [...results].sort((a, b) => b.worstBlock - a.worstBlock).slice(0, 8);
  const sum = (value: (result: StressResult) => number): number => results.reduce((total, result) => total + value(result), 0);
  return [
    `device evaluations under stress, ${rule}, one channel`,
    row('circuit', 'one sample', 'one block', 'rescues'),
    ...hardest.map(({ name, worstSample, worstBlock, rescues }) => row(name, worstSample, worstBlock, rescues)),
    row(`worst of ${results.length} circuits, ${sum(({ samples }) => samples)} samples`, Math.max(...results.map((result) => result.worstSample)),
      Math.max(...results.map((result) => result.worstBlock)), sum(({ rescues }) => rescues)),
  ].join('\n');
}

describe('under stress, no sample goes unsolved and no output further than its supplies and its input allow', () => {
  it('circuit documents: as designed, without supply, beta 5 and 1e12, gain-bandwidth 20 MHz', () => {
    through(stressDocuments(), 'T1', 1);
  });

  it('stages at their defaults and at both ends of every range', () => {
    through(stressStages(), 'T1', 0.25);
  }, 180_000);

  it('circuit documents as designed under the finest rule', () => {
    through(stressDocuments().filter(({ name }) => !name.includes(',')), 'T24', 0.3);
  });
});
