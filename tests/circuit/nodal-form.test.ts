// The nodal form of the solve: the same answers as over the ports, in a small part of the operations; loop and kernel alike to the bit.
import { describe, expect, it } from 'vitest';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { defaultValues, stageById, stages } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { stressSignals } from '../support/stress.ts';
import { compareBackEnds } from './emit/compare-back-ends.ts';

installCompiledCode();
const rateHz = 384_000;
const seed = 20261126;

const programOf = (id: string, values: StageValues = {}): CircuitProgram => {
  const stage = stageById(id);
  return buildProgram(stage.circuit({ ...defaultValues(stage), ...values }, null)!, { rateHz });
};

/** The same program over its ports. */
function overPorts(program: CircuitProgram): CircuitProgram {
  const topology = { ...program.topology, nodal: null, key: `${program.topology.key} over ports` };
  return { ...program, topology, topologyKey: topology.key, instances: program.instances.map((instance) => ({ ...instance, nodal: null })) };
}

function played(program: CircuitProgram, wave: Float64Array) {
  const output = wave.slice();
  const runner = new CircuitRunner(program, 1, measuringTolerance);
  runner.process([output], 0, output.length);
  return output;
}

const cases: readonly (readonly [string, StageValues])[] = [
  ['op-amp-discrete', {}], ['op-amp-discrete', { outputKind: 'complementary' }], ['op-amp-discrete', { connection: 'inverting' }],
  ['op-amp-integrated', {}], ['op-amp-integrated', { quiescentAmperes: 20e-6 }],
];

describe('the nodal form', () => {
  it('is taken by the op-amp stages and by no small circuit', () => {
    const nodal = stages.filter((stage) => {
      const document = stage.circuit(defaultValues(stage), null);
      return document !== null && buildProgram(document, { rateHz }).topology.nodal !== null;
    }).map(({ id }) => id);
    expect(nodal).toEqual(['op-amp-discrete', 'op-amp-integrated']);
  });

  it.each(cases)('%s, %o: answers as over the ports do, sample by sample', (id, values) => {
    const program = programOf(id, values);
    expect(program.topology.nodal).not.toBeNull();
    const wave = Float64Array.from({ length: 6000 }, (_, n) => (n < 3000 ? 2 : 9) * Math.sin((2 * Math.PI * (n < 4500 ? 1000 : 9000) * n) / rateHz));
    const there = played(program, wave);
    const here = played(overPorts(program), wave);
    // Some volts; the solver leaves up to 1e-6 thermal voltages of a control to first order, an amplifier's gain of 60 dB more of it.
    there.forEach((volts, n) => { if (!(Math.abs(volts - here[n]!) <= 1e-9)) throw new Error(`sample ${n}: ${volts} over the nodes, ${here[n]} over the ports`); });
  });

  it.each(cases)('%s, %o: loop and kernel are equal to the bit, whichever lane is rescued', (id, values) => {
    const program = programOf(id, values);
    let rescues = 0;
    for (const { name, channels: [left, right] } of stressSignals(rateHz, seed, 0.15)) {
      for (const channels of [[left, right], [right, left], [left, new Float64Array(left.length)]] as const) {
        const { difference, report } = compareBackEnds(program, channels, { inArena: false, seed });
        expect(`${name}: ${difference}`).toBe(`${name}: null`);
        rescues += report.rescues.reduce((sum, count) => sum + count, 0);
      }
    }
    expect(rescues).toBeGreaterThan(10);
  });

  it('has a fraction of the entries that the ports have', () => {
    const { nodal, portRows, feedbackRows, updateRows, portCount } = programOf('op-amp-discrete').topology;
    const over = portRows.columns.length + feedbackRows.columns.length + updateRows.columns.length + portCount * portCount;
    expect(nodal!.matrixRows.columns.length + nodal!.sourceRows.columns.length + nodal!.updateRows.columns.length).toBeLessThan(over / 5);
  });
});
