/**
 * The op-amp stages: their default designs' figures (found by a general-purpose circuit simulator and by periodic collocation, none of them this solver), and what has to come
 * out of a feedback amplifier by itself. Harmonics of the figures are printed to whole decibels, so half a decibel is added to their tolerance: 0.3 dB above −100 dB, 1 dB below.
 */
import { describe, expect, it } from 'vitest';
import { CircuitRunner, buildProgram, cosineDrive, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { dbuToPeakVolts, defaultValues, resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { check, expectWithin, numberInput } from '../reference/checks.ts';
import { steadyOutput, toneAtOutput, toneThrough } from './support/tone.ts';
import type { Tone } from './support/tone.ts';

const discrete = 'op-amp-discrete';
const integrated = 'op-amp-integrated';
const rateHz = 384_000;

/** The finest rule: at 10 kHz the fifth harmonic lies at 50 kHz, where a single step of 2.6 µs would show by half a decibel. */
const programOf = (id: string, given: StageValues = {}) => stageById(id).program(resolveValues(stageById(id), given), { rateHz, source: null, rule: 'T24' });
const documentOf = (id: string, given: StageValues = {}): CircuitDocument => stageById(id).circuit(resolveValues(stageById(id), given), null)!;

function report(id: string, given: StageValues = {}) {
  const { readings, remarks } = stageById(id).report(resolveValues(stageById(id), given), programOf(id, given));
  return {
    reading: (label: string): number => readings.find((reading) => reading.label === label)!.value,
    note: (label: string): string => readings.find((reading) => reading.label === label)!.note!,
    words: (label: string): string | undefined => remarks.find((remark) => remark.label === label)?.words,
  };
}

function expectHarmonics(tone: Tone, expected: Readonly<Record<number, number>>): void {
  const off = Object.entries(expected).flatMap(([order, db]) => {
    const limit = (db > -100 ? 0.3 : 1) + 0.5;
    return Math.abs(tone.db[Number(order)]! - db) <= limit ? [] : [`H${order}: got ${tone.db[Number(order)]} dB, expected ${db} ± ${limit} dB`];
  });
  expect(off).toEqual([]);
}

function expectNear(actual: number, expected: number, relative: number): void {
  expect(!(Math.abs(actual / expected - 1) <= relative) ? `got ${actual}, expected ${expected} within ${100 * relative} %` : 'near').toBe('near');
}

describe('default designs', () => {
  it.each([[1000, 4, { 2: -116, 3: -154 }], [10_000, 4, { 2: -116, 3: -154 }], [1000, 22.7, { 2: -97, 3: -116 }]])('discrete at %d Hz, %d dBu into 600 Ω', (hz, dbu, expected) => {
    expectHarmonics(toneAtOutput(programOf(discrete), hz, dbu), expected);
  });

  it.each([
    [100e-6, 1000, 4, { 3: -93, 5: -96, 7: -98 }], [100e-6, 10_000, 4, { 3: -73, 5: -76, 7: -78 }], [100e-6, 10_000, 20, { 3: -64, 5: -74, 7: -77 }],
    [20e-6, 1000, 4, { 3: -87, 5: -89, 7: -90 }], [20e-6, 10_000, 4, { 3: -67, 5: -69, 7: -70 }],
    // H7 of 1 mA lies near a null: 2 % of the current moves it 8 dB.
    [1e-3, 1000, 4, { 3: -115, 5: -130 }], [1e-3, 10_000, 4, { 3: -99, 5: -110 }],
  ])('integrated with %d A at %d Hz, %d dBu into 600 Ω', (quiescentAmperes, hz, dbu, expected) => {
    expectHarmonics(toneAtOutput(programOf(integrated, { quiescentAmperes }), hz, dbu), expected);
  });

  it('discrete: gain-bandwidth, slew rate and full-power bandwidth with 120 pF in all, and beside the second stage\'s own 4 pF', () => {
    const alone = report(discrete, { compensationFarads: 116e-12 });
    const beside = report(discrete);
    // The figures are gm/2πC and tail/C; of them base currents and the mirror take 2 to 3 % here.
    expectNear(alone.reading('gain-bandwidth'), 10.5e6, 0.03);
    expectNear(alone.reading('slew rate'), 16.7, 0.03);
    expectNear(beside.reading('gain-bandwidth'), 10.1e6, 0.03);
    expectNear(beside.reading('slew rate'), 16.1, 0.03);
    expectNear((alone.reading('slew rate') * 1e6) / (2 * Math.PI * 17.4), 153e3, 0.03);
  });

  it('integrated: 3.08 MHz where the load takes nothing off, 1.0 V/µs', () => {
    // Into 600 Ω the followers give four fifths of their voltage at rest, and the loop so much less.
    expectNear(report(integrated, { loadOhms: 1e6, feedbackOhms: 22e3, gainOhms: 22e3, quiescentAmperes: 1e-3 }).reading('gain-bandwidth'), 3.08e6, 0.01);
    expectNear(report(integrated).reading('slew rate'), 1.0, 0.01);
  });

  it('clip where they should', () => {
    const clip = (id: string, given: StageValues = {}): number => stageById(id).clipOutputDbu(resolveValues(stageById(id), given), programOf(id, given))!;
    // 1 % at +23.6 dBu by the upper rail alone; the sink too has an end here, and the lower peak is cut a little later.
    expect(Math.abs(clip(discrete) - 23.6)).toBeLessThan(0.2);
    const clean = toneAtOutput(programOf(discrete), 1000, 23.1).thd.f;
    expect(clean).toBeLessThan(1e-4);
    expect(toneAtOutput(programOf(discrete), 1000, 23.3).thd.f).toBeGreaterThan(1e-3);
    expect(Math.abs(clip(integrated) - 21)).toBeLessThan(0.6);
    expect(Math.abs(clip(integrated, { loadOhms: 10e3 }) - 21.8)).toBeLessThan(0.3);
  });
});

describe('what feedback leaves', () => {
  it('rises 6 dB an octave as the loop gain falls', () => {
    const third = (hz: number): number => toneAtOutput(programOf(integrated), hz, 4).db[3]!;
    expect(Math.abs(third(4000) - third(2000) - 6.02)).toBeLessThan(0.3);
    const { reading } = report(integrated);
    expect(Math.abs(reading('loop gain at 10 kHz') - reading('loop gain at 20 kHz') - 6.02)).toBeLessThan(0.1);
  });

  it('is a crossover where the output pair has little current, and none in class A', () => {
    const seventh = (quiescentAmperes: number): number => toneAtOutput(programOf(integrated, { quiescentAmperes }), 1000, 4).db[7]!;
    expect(seventh(20e-6) - seventh(100e-6)).toBeGreaterThan(6);
    expect(seventh(20e-6) - seventh(5e-3)).toBeGreaterThan(60);
  });

  it('is slewing at high frequencies and levels: a triangle that the tail current sets', () => {
    const given = { tailAmperes: 15e-6, quiescentAmperes: 5e-3, loadOhms: 10e3 };
    const output = steadyOutput(programOf(integrated, given), cosineDrive({ cycles: 5, periodFrames: 96, hz: 20_000 }, dbuToPeakVolts(23)), 5);
    const rate = report(integrated, given).reading('slew rate') * 1e6;
    const peak = (Math.max(...output) - Math.min(...output)) / 2;
    // A triangle's peak is SR/4f; its turns are rounded by the pair's tanh.
    expectNear(peak, rate / 80_000, 0.05);
    const tone = toneThrough(programOf(integrated, given), 20_000, 23);
    expect(Math.abs(tone.db[3]! + 19.1)).toBeLessThan(1);
    // Far below slewing the third harmonic rises 18 dB an octave.
    const third = (hz: number): number => toneAtOutput(programOf(integrated, { quiescentAmperes: 5e-3, loadOhms: 10e3 }), hz, 10).db[3]!;
    expect(Math.abs(third(10_000) - third(5000) - 18.06)).toBeLessThan(1);
  });
});

describe('a single-ended output', () => {
  const ends = (given: StageValues): { readonly up: number; readonly down: number } => {
    const output = steadyOutput(programOf(discrete, given), cosineDrive({ cycles: 1, periodFrames: 384, hz: 1000 }, dbuToPeakVolts(26)), 1);
    return { up: Math.max(...output), down: -Math.min(...output) };
  };

  it('clips at the upper rail first, and with little idle current at its sink', () => {
    const rail = ends({});
    expect(rail.down - rail.up).toBeGreaterThan(0.3);
    const sink = ends({ idleAmperes: 0.015 });
    expect(sink.up - sink.down).toBeGreaterThan(5);
    // 15 mA through load and build-out beside the network.
    expectNear(sink.down, (0.015 * 4400 * 600) / (4400 + 647), 0.02);
    expect(report(discrete, { idleAmperes: 0.015 }).words('clipping')).toBe('uneven: downwards first');
    expect(report(discrete, { idleAmperes: 0.015 }).words('limit')).toContain('the idle current must exceed');
  });

  it('turns its second harmonic over with the side that clips', () => {
    const second = (given: StageValues): number => toneThrough(programOf(discrete, given), 1000, 25).harmonics.find(({ order }) => order === 2)!.signedRatio;
    expect(second({}) * second({ idleAmperes: 0.015 })).toBeLessThan(0);
  });

  it('says the swings it reaches', () => {
    const { reading } = report(discrete);
    const { up, down } = ends({});
    expectNear(dbuToPeakVolts(4) * 10 ** (reading('headroom upwards') / 20), up, 0.01);
    expectNear(dbuToPeakVolts(4) * 10 ** (reading('headroom downwards') / 20), down, 0.01);
  });
});

/** Output of a document sampled at `hertz` with this input, from rest. */
function played(document: CircuitDocument, hertz: number, input: Float64Array): { readonly output: Float64Array; readonly restVolts: number } {
  const program = buildProgram(document, { rateHz: hertz });
  const output = Float64Array.from(input);
  new CircuitRunner(program, 1, measuringTolerance).process([output], 0, output.length);
  return { output, restVolts: program.restOutputVolts };
}

describe('in time', () => {
  const hertz = 24_576_000;

  it.each([[discrete, {}], [integrated, {}], [integrated, { connection: 'inverting' }], [discrete, { tailAmperes: 3e-3 }]] as const)('%s slews as its reading says: %o', (id, given) => {
    const frames = Math.round(hertz * 60e-6);
    const stage = stageById(id);
    const turned = stage.invertsFor!(resolveValues(stage, given)) ? -1 : 1;
    for (const sign of [1, -1]) {
      const { output } = played(documentOf(id, { ...given, loadOhms: 10e3 }), hertz, new Float64Array(frames).fill(sign * turned * 4.5).fill(0, 0, 10));
      let fastest = 0;
      // Over 0.2 µs: between the step's feed-through and its end.
      const span = 5;
      for (let n = 10 + span; n < frames; n += 1) {
        const height = Math.abs(output[n]!);
        if (height > 2.5 && height < 6) fastest = Math.max(fastest, (Math.abs(output[n]! - output[n - span]!) / span) * hertz);
      }
      // The discrete pair's emitters follow the output, and their capacitances take a part of the tail for that: 5 to 8 %.
      expectNear(fastest / 1e6, report(id, given).reading('slew rate'), id === discrete ? 0.1 : 0.04);
    }
  });

  it.each([[discrete, 20e-6], [integrated, 40e-6]] as const)('%s is back within %d s of 6 dB too much, and its second stage never left the rails', (id, seconds) => {
    const rail = defaultValues(stageById(id))['railVolts'] as number;
    const milliseconds = (n: number): number => (n / 6_144_000) * 1e3;
    // Half a cycle of 1 kHz each way to twice the swing, then nothing.
    const input = Float64Array.from({ length: 8000 }, (_, n) => (milliseconds(n) < 1 ? rail * Math.sin(2 * Math.PI * milliseconds(n)) : 0));
    const document = documentOf(id);
    const { output, restVolts } = played(document, 6_144_000, input);
    // The overload ends where the input comes back inside half the swing.
    const from = 6144;
    let last = from;
    output.forEach((volts, n) => {
      if (n >= from && Math.abs(volts - restVolts) > 0.1) last = n;
    });
    expect((last - from) / 6_144_000).toBeLessThan(seconds);
    const node = played({ ...document, output: ['gain', 'ground'] }, 6_144_000, input).output;
    const furthest = node.reduce((largest, volts) => Math.max(largest, Math.abs(volts)), 0);
    expect(furthest).toBeLessThan(rail + 2);
  });

  it('catches up at once after 6 dB too much: no slower than the slew rate has it', () => {
    const given = { quiescentAmperes: 1e-3 };
    const slew = report(integrated, given).reading('slew rate') * 1e6;
    const frames = 2000;
    const input = new Float64Array(frames).fill(15).fill(0, 0, 10).fill(0, 1000);
    const { output } = played(documentOf(integrated, given), 6_144_000, input);
    const start = output[999]!;
    expect(start).toBeGreaterThan(12);
    const back = output.findIndex((volts, n) => n > 1000 && volts < 0.1);
    // From the swing to nothing, 3 µs for the second stage to let go and the last tenth of a volt to settle.
    expect((back - 1000) / 6_144_000).toBeLessThan(start / slew + 3e-6);
  });
});

describe('the loop', () => {
  it('has margin with its load; a long line takes it where no build-out stands before it', () => {
    const bare = report(integrated);
    expect(bare.reading('phase margin')).toBeGreaterThan(60);
    expect(Number(/^with its load; (\d+)° with 300 m/.exec(bare.note('phase margin'))![1])).toBeLessThan(30);
    const built = report(integrated, { buildOutOhms: 50 });
    expect(Number(/^with its load; (\d+)° with 300 m/.exec(built.note('phase margin'))![1])).toBeGreaterThan(60);
  });

  it('is refused where it would oscillate, with the reason', () => {
    // A follower of twice the gain-bandwidth, 300 m of line right at its output.
    const given = { gainOhms: 47e3, compensationFarads: 15e-12, loadFarads: 3e-8 };
    expect(() => resolveValues(stageById(integrated), given)).toThrow(/^op-amp-integrated: compensationFarads: expected a phase margin of at least 10°, got -?\d.*° at .*Hz: the loop would oscillate/);
    expect(resolveValues(stageById(integrated), { ...given, buildOutOhms: 50 })['loadFarads']).toBe(3e-8);
  });

  it('SR-DEG: degeneration of T = 9 leaves the gain-bandwidth and makes the slew rate tenfold, at ten times the tail current', () => {
    const entry = check('SR-DEG');
    const degeneration = numberInput(entry, 'T');
    const tail = 20e-6 * (1 + degeneration);
    const [plain, degenerated] = [report(integrated, { tailAmperes: 20e-6 }), report(integrated, { tailAmperes: tail, degenerationOhms: (degeneration * 2 * 0.025865) / tail })];
    expectNear(degenerated.reading('gain-bandwidth'), plain.reading('gain-bandwidth'), 0.01);
    expectWithin(entry, degenerated.reading('slew rate') / plain.reading('slew rate'), { type: 'rel', value: 0.02 });
  });

  it('asks for more current at +24 dBu than an integrated output has, and says how much', () => {
    expect(report(integrated).reading('current demanded')).toBeGreaterThan(0.03);
    expect(report(integrated).note('current demanded')).toContain('of 25 mA that the current limit allows');
  });

  it('inverts where it is wired to', () => {
    for (const id of [discrete, integrated]) {
      const stage = stageById(id);
      expect([stage.invertsFor!(resolveValues(stage, {})), stage.invertsFor!(resolveValues(stage, { connection: 'inverting' }))]).toEqual([false, true]);
      expect(report(id, { connection: 'inverting' }).words('polarity')).toBe('inverts');
      const wave = cosineDrive({ cycles: 1, periodFrames: 384, hz: 1000 }, 1);
      expect(steadyOutput(programOf(id, { connection: 'inverting' }), wave, 1)[0]!).toBeLessThan(0);
      expect(steadyOutput(programOf(id), wave, 1)[0]!).toBeGreaterThan(0);
    }
  });
});
