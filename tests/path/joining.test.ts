/** Stages solved in one circuit: the netlist, what it plays, and how it is compared with one of them out. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram, CircuitRunner, exactResponse, findOperatingPoint, listeningTolerance, parseCircuitDocument } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, Component } from '../../dsp/circuit/index.ts';
import { measurePath, pathResponse, probePeakVolts } from '../../dsp/measure/index.ts';
import { joinDocuments, maximumPorts, plannedCircuit, PathRunner, planPath, type OnTrial, type PathPlan, type PathSetting } from '../../dsp/path/index.ts';
import { createStageRunner } from '../../dsp/stages/index.ts';
import { compiled, recordingShell } from '../support/compiled-code.ts';
import { firstDifference, pathOf, planOf, plucked, rateHz, renderAll } from './support.ts';

const handWritten = parseCircuitDocument(JSON.parse(readFileSync(new URL('documents/bipolar-into-push-pull.json', import.meta.url), 'utf8')));

/** The path of the document: make-up and drive of −6.0206 dB together (a ratio of ½ to the last bit), first stage reversed. */
const pair = pathOf([
  { stage: 'single-ended-bipolar', values: { makeUpDb: 0 }, reversed: true },
  { stage: 'push-pull', values: { railVolts: 24, driveDb: -6.020599913279624, makeUpDb: 0 }, joined: true },
]);

describe('a joined pair', () => {
  it('is one thing that runs, with both its stages', () => {
    const { stages, refusedJoints } = planOf(pair);
    expect(stages.map(({ key, members, polarity, reversed }) => [key, members.map((member) => member.key), polarity, reversed])).toEqual([['s2', ['s1', 's2'], 1, false]]);
    expect(refusedJoints).toEqual([]);
  });

  it('gives the bits of one hand-written circuit of both', () => {
    const internalHz = 8 * rateHz;
    const { program } = planOf(pair).stages[0]!.wired;
    if (program.kind !== 'circuit') throw new Error('expected a circuit');
    expect([program.inputGain, program.outputGain]).toEqual([1, 1]);
    const runner = createStageRunner(program, 1);
    const byHand = new CircuitRunner(buildProgram(handWritten, { rateHz: internalHz, rule: 'listening', nominalPeakVolts: probePeakVolts(4) }), 1, listeningTolerance);
    // Up to +20 dBu, so that the pair is driven well into class B.
    const input = plucked(24_000, 11);
    const [joined, written] = [input.slice(), input.slice()];
    runner.process([joined], 0, joined.length);
    byHand.process([written], 0, written.length);
    const rest = byHand.program.restOutputVolts;
    expect(Math.max(...joined)).toBeGreaterThan(4);
    expect(firstDifference(joined, written.map((volts) => (volts - rest) * 1 + 0))).toBe(-1);
  });

  it('shares the supplies that both have', () => {
    const document = plannedCircuit(pair, planOf(pair).stages[0]!)!;
    const sources = document.components.filter((component) => component.kind === 'voltage-source' && Math.abs(component.volts) === 24);
    expect(sources.map(({ name }) => name)).toEqual(['1 VCC', '2 VEE']);
    expect(document.components.find(({ name }) => name === '2 Q1')).toMatchObject({ collector: '1 supply' });
  });

  it('has the response and harmonics of the circuit document of both', () => {
    const plan = planPath(pair, rateHz, { grade: 'measuring' });
    const system = assembleCircuit(handWritten);
    const exact = exactResponse(system, findOperatingPoint(system), [20, 1000, 20_000]);
    pathResponse(pair, plan, [20, 1000, 20_000], { exact: true }).forEach(({ db }, k) => {
      expect(db).toBeCloseTo(20 * Math.log10(Math.hypot(exact[k]!.re, exact[k]!.im)), 9);
    });
    const measured = measurePath(plan, { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } });
    if (measured.oscillates) throw new Error('oscillates');
    // A class-AB pair loads its driver when one side turns off, so the joined harmonics are not those of the two one after the other.
    const apart = measurePath(planPath(pathOf([{ ...pair.stages[0]! }, { ...pair.stages[1]!, joined: false }]), rateHz, { grade: 'measuring' }), { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } });
    if (apart.oscillates) throw new Error('oscillates');
    expect(measured.fundamentalDbu).not.toBe(apart.fundamentalDbu);
    expect(Math.abs(measured.fundamentalDbu - apart.fundamentalDbu)).toBeLessThan(0.1);
  });

  it('is joined by a verdict as by a request', () => {
    const apart: PathSetting = { ...pair, stages: pair.stages.map((stage) => ({ ...stage, joined: false })) };
    expect(planOf(apart).stages).toHaveLength(2);
    const byVerdict = planPath(apart, rateHz, { joints: [null, { joined: true }] });
    expect(byVerdict.stages.map(({ wired }) => wired.identity)).toEqual(planOf(pair).stages.map(({ wired }) => wired.identity));
  });

  it('runs compiled to the bits of the loops', () => {
    const input = plucked(2400, 0.9);
    const readable = renderAll(planOf(pair), [input, input.map((sample) => -sample)]);
    const record = recordingShell();
    const fast = compiled(() => renderAll(planOf(pair), [input, input.map((sample) => -sample)]), record.shell);
    expect(record.instances).toBeGreaterThan(0);
    fast.forEach((output, channel) => expect(firstDifference(output, readable[channel]!)).toBe(-1));
  });
});

describe('the level control between joined circuits', () => {
  const resistor = (name: string, a: string, b: string, ohms: number): Component => ({ kind: 'resistor', name, between: [a, b], ohms });
  const input: Component = { kind: 'input', name: 'IN', between: ['in', 'ground'], biasVolts: 0 };
  const part = (components: readonly Component[]): CircuitDocument => ({ title: 'part', temperatureC: 27, components: [input, ...components], output: ['out', 'ground'] });
  const first = part([resistor('R1', 'in', 'out', 3000), resistor('R2', 'out', 'ground', 2000)]);
  const second = part([resistor('R1', 'in', 'out', 500), resistor('R2', 'out', 'ground', 700)]);

  it.each([1, -1, 0.25, 4, -3.5])('of %f leaves each side the impedance of the other', (gain) => {
    const system = assembleCircuit(joinDocuments([{ document: first, prefix: '1 ', gain }, { document: second, prefix: '2 ', gain: 1 }]));
    const [transfer] = exactResponse(system, findOperatingPoint(system), [1000]);
    // Open-circuit voltage 0.4 behind 1.2 kΩ, times the gain, into 1.2 kΩ: by hand.
    expect(transfer!.re).toBeCloseTo(0.4 * gain * (700 / (1200 + 1200)), 12);
  });

  it('is a wire where there is nothing to control', () => {
    const { components } = joinDocuments([{ document: first, prefix: '1 ', gain: 1 }, { document: second, prefix: '2 ', gain: 1 }]);
    expect(components.map(({ kind }) => kind)).toEqual(['input', 'resistor', 'resistor', 'resistor', 'resistor']);
    expect(components.map(({ name }) => name)).toEqual(['1 IN', '1 R1', '1 R2', '2 R1', '2 R2']);
  });

  it('refuses parts that cannot stand in one circuit', () => {
    const warm = { ...second, temperatureC: 40 };
    expect(() => joinDocuments([{ document: first, prefix: '1 ', gain: 1 }, { document: warm, prefix: '2 ', gain: 1 }])).toThrow('"part": expected 27 °C as in "part", got 40 °C');
    expect(() => joinDocuments([{ document: { ...first, output: ['in', 'out'] }, prefix: '1 ', gain: 1 }, { document: second, prefix: '2 ', gain: 1 }])).toThrow('"part": expected an output against ground, got out');
  });
});

describe('a stage on trial inside a joined pair', () => {
  /** The rule makes no difference to what is wired where. */
  const plainPlan = (path: PathSetting, onTrial?: OnTrial): PathPlan => planPath(path, rateHz, { rule: 'T1', ...(onTrial ? { onTrial } : {}) });
  const input = plucked(2400, 0.4);
  const wishes = [{ stage: 'single-ended-field-effect' }, { stage: 'push-pull', joined: true }, { stage: 'single-ended-bipolar', joined: true }, { stage: 'harmonic-shaping' }];
  const joinedThree = pathOf(wishes);
  const onTrial = (key: string): OnTrial => ({ kind: 'stage', key });
  const without = (key: string): PathSetting => ({ ...joinedThree, stages: joinedThree.stages.map((stage) => (stage.key === key ? { ...stage, inCircuit: false } : stage)) });
  const inverts = new Set(['s1', 's3']);

  it.each(['s1', 's2', 's3'])('%s in circuit is the joined path, out of circuit the others alone, turned as the stage turned them', (key) => {
    const plan = plainPlan(joinedThree, onTrial(key));
    const joined = renderAll(plainPlan(joinedThree), [input])[0]!;
    expect(firstDifference(renderAll(plan, [input], { trialIn: true })[0]!, joined)).toBe(-1);
    const others = without(key);
    // Reversed where the stage on trial stood: before it, or at the source.
    const index = others.stages.findIndex((stage) => stage.key === key);
    const turned = inverts.has(key) && index > 0;
    const expected: PathSetting = { ...others, stages: others.stages.map((stage, k) => (turned && k === index - 1 ? { ...stage, reversed: !stage.reversed } : stage)) };
    const source = inverts.has(key) && index === 0 ? input.map((sample) => -sample) : input;
    expect(firstDifference(renderAll(plan, [input], { trialIn: false })[0]!, renderAll(plainPlan(expected), [source])[0]!)).toBe(-1);
  });

  it('forks no earlier and joins no later than it must', () => {
    const spans = joinedThree.stages.map(({ key }) => {
      const { trial } = plainPlan(joinedThree, onTrial(key));
      return [trial!.first, trial!.end, trial!.without.map(({ members }) => members.map((member) => member.key)), trial!.turned];
    });
    expect(spans).toEqual([
      [0, 1, [['s2', 's3']], true],
      [0, 1, [['s1', 's3']], false],
      [0, 1, [['s1', 's2']], false],
      [1, 2, [], false],
    ]);
  });

  it('is switched without a step: the fade is between two chains that have run all the time', () => {
    const runner = new PathRunner(plainPlan(joinedThree, onTrial('s2')), 1, 480);
    const tone = Float64Array.from({ length: 4800 }, (_, i) => 0.1 * Math.sin((2 * Math.PI * 200 * i) / rateHz));
    const heard: number[] = [];
    for (let at = 0; at < tone.length; at += 480) {
      if (at === 2400) runner.setTrialIn(false);
      const output = new Float64Array(480);
      runner.process([tone.subarray(at, at + 480)], [output], 480);
      heard.push(...output);
    }
    const steps = heard.slice(1200).map((sample, i, all) => Math.abs(sample - (all[i - 1] ?? sample)));
    // 200 Hz at this level moves 0.003 a sample; the two ways differ by a fraction of a decibel.
    expect(Math.max(...steps)).toBeLessThan(0.004);
  });
});

describe('what is not joined', () => {
  const sequence = (count: number): PathSetting => pathOf(Array.from({ length: count }, (_, k) => ({ stage: 'push-pull', joined: k > 0 })));

  it('is a circuit beyond the number of ports that play, and the plan says so', () => {
    const plan = planOf(sequence(3));
    expect(plan.stages.map(({ members }) => members.length)).toEqual([2, 1]);
    expect(plan.refusedJoints).toEqual([{
      key: 's3', sentence: `Stages 1 to 3 are not joined: one circuit of them has 12 unknown voltages, and ${maximumPorts} is the most that plays.`,
    }]);
  });

  it('is a stage that is no circuit, or stands behind one', () => {
    const plan: PathPlan = planOf(pathOf(['push-pull', { stage: 'harmonic-shaping', joined: true }, { stage: 'push-pull', joined: true }]));
    expect(plan.stages.map(({ members }) => members.length)).toEqual([1, 1, 1]);
    expect(plan.refusedJoints).toEqual([]);
  });

  it('is a first stage; behind one out of circuit it is joined to the running stage before that', () => {
    const plan = planOf(pathOf([{ stage: 'push-pull', joined: true }, { stage: 'harmonic-shaping', inCircuit: false }, { stage: 'push-pull', joined: true }]));
    expect(plan.stages.map(({ members }) => members.map(({ key }) => key))).toEqual([['s1', 's3']]);
  });
});
