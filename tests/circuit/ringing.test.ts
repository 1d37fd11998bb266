/**
 * A mode much faster than the step turns into one that alternates from sample to sample under the trapezoidal rule: 220 pF behind 10 Ω would ring for hundreds of samples. What is left of it: the
 * internal samples from the fifth after a step on, decimated as a path decimates them, against the truth, which has arrived after 50 ns.
 */
import { describe, expect, it } from 'vitest';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, IntegrationRule } from '../../dsp/circuit/index.ts';
import { designLadder, Downsampler } from '../../dsp/resampling/index.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { bipolar, rateHz } from './support.ts';

const factor = 8;
const stepVolts = 2;
/** Frame of the step, and internal samples of it that are let pass. */
const stepAt = 400;
const settlingSamples = 5;
const frames = 4096;

const plain = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground']);
/** The same at the output of a follower, which bends. */
const afterFollower = parsedOf([
  input('in', 'ground', 6), bipolar('Q1', 'npn', ['v', 'in', 'e']), resistor('RE', 'e', 'ground', 1000), source('V', 'v', 'ground', 15),
  resistor('R1', 'e', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12), resistor('RL', 'out', 'ground', 10e3),
], ['out', 'ground']);

/** Distance from the value that the output ends at, from `settlingSamples` after the step on; largest magnitude over the step's own, dB, at the internal rate and after decimation. */
function ringingDb(document: CircuitDocument, rule: IntegrationRule): { readonly internal: number; readonly decimated: number } {
  const runner = new CircuitRunner(buildProgram(document, { rateHz, rule }), 1, measuringTolerance);
  const wave = Float64Array.from({ length: frames }, (_, n) => (n < stepAt ? 0 : stepVolts));
  runner.process([wave], 0, frames);
  const [before, after] = [wave[stepAt - 1]!, wave[frames - 1]!];
  const distance = wave.map((volts, n) => (n < stepAt + settlingSamples ? 0 : volts - after));
  const decimated = new Float64Array(frames / factor);
  new Downsampler(designLadder(rateHz / factor, factor, 'linear-phase')).process(distance, 0, frames / factor, decimated, 0);
  const db = (left: Float64Array): number => 20 * Math.log10(Math.max(...left.map(Math.abs)) / Math.abs(after - before));
  return { internal: db(distance), decimated: db(decimated) };
}

describe.each([['alone', plain], ['at the output of a follower', afterFollower]] as const)('220 pF behind 10 Ω, %s', (_, document) => {
  it.each(['T1', 'T12', 'T24'] as const)('%s: nothing rings after five internal samples', (rule) => {
    // −120 dB of the step, before the decimation already.
    const { internal, decimated } = ringingDb(document, rule);
    expect(internal).toBeLessThan(-120);
    expect(decimated).toBeLessThan(-120);
  });
});

it('is seen where it is: 3 nF behind 10 Ω, which backward Euler would cost 0.03 dB, alternates and is left to', () => {
  const document = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 3e-9)], ['out', 'ground']);
  expect(buildProgram(document, { rateHz }).backwardEuler).toEqual([]);
  const { internal, decimated } = ringingDb(document, 'T1');
  expect(internal).toBeGreaterThan(-40);
  // A decimator ends what alternates from sample to sample, but not its sudden beginning.
  expect(decimated).toBeGreaterThan(-80);
});
