/** The figure of what a path adds to a loop: where it acts, how much, in which bands, and what it refuses. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { factsOf, figureInSteps, figureViewById, subjectOfDocument, subjectOfSetting, type Figure, type FigureSubject } from '../../../dsp/measure/figures/index.ts';
import { defaultValues, type StageValues } from '../../../dsp/stages/index.ts';
import type { PathSetting } from '../../../dsp/path/index.ts';
import { installWebAssembly } from '../../../dsp/webassembly/index.ts';
import { pathOf, plucked, rateHz, toDb } from '../../path/support.ts';
import { engineShell } from '../../support/compiled-code.ts';
import { latchingPair } from '../../support/unstable.ts';

beforeAll(() => installWebAssembly(engineShell));
afterAll(() => installWebAssembly(null));

const view = figureViewById('loop-added')!;
const standard = defaultValues({ parameters: view.parameters });

function subjectOf(path: PathSetting, channels: readonly Float64Array[], scope: FigureSubject['scope'] = { kind: 'path' }, startSeconds = 0): FigureSubject {
  return subjectOfSetting({ path, joints: null, baseRateHz: rateHz, scope, grade: view.grade!, programme: { title: 'burst', rateHz, channels, startSeconds } });
}

function figureOf(subject: FigureSubject, values: StageValues = {}): { readonly figure: Figure; readonly captions: readonly string[] } {
  const captions: string[] = [];
  const steps = figureInSteps(view, subject, { ...standard, ...values });
  for (;;) {
    const step = steps.next();
    if (step.done) return { figure: step.value, captions };
    if (step.value) captions.push(step.value.caption);
  }
}

/** A quiet tone of 440 Hz, 39 dB louder from 2.0 s on for 30 ms: then 9 dB beyond where the stage clips. */
const burst = Float64Array.from({ length: 2.4 * rateHz }, (_, i) => {
  const loud = i >= 2 * rateHz && i < 2.03 * rateHz;
  return (loud ? 0.9 : 0.01) * Math.sin((2 * Math.PI * 440 * i) / rateHz);
});
const clipping = pathOf([{ stage: 'single-ended-bipolar', values: { driveDb: 10 } }], { oversamplingFactor: 2 });

describe('a burst that clips', () => {
  const start = 3;
  let figure: Figure;
  let captions: readonly string[];
  beforeAll(() => ({ figure, captions } = figureOf(subjectOf(clipping, [burst], { kind: 'path' }, start))));

  it('is found where it is, in seconds of the loop', () => {
    const [first, next] = figure.tables[0]!.rows;
    // One moment: 30 ms.
    expect(Math.abs((first!.cells[0] as number) - (start + 2.015))).toBeLessThan(0.03);
    expect(figure.caption).toContain('it acts most at 5.0');
    expect(figure.caption).toMatch(/^From 3\.00 to 5\.40 s −\d+\.\d dB re the music is added/);
    // What comes next is the stage recovering, blocked by its own coupling capacitor: 26 dB less of it.
    if (!((next!.cells[2] as number) < (first!.cells[2] as number) - 20)) throw new Error(`${next!.cells[2]} dBFS beside ${first!.cells[2]} dBFS`);
    expect(figure.caption).toContain('the bias moves by more than that below 20 Hz');
    const strip = figure.panels[0]!;
    expect(strip.selects).toBe('region');
    expect([strip.x.from, strip.x.to]).toEqual([start, start + 2.4]);
    const { x: places, y } = strip.traces.find(({ id }) => id === 'added')!;
    const x = Array.from(places);
    const [before, during] = [1.95, 2.015].map((seconds) => y[x.findIndex((place) => place > start + seconds)]!);
    if (!(during! > before! + 20)) throw new Error(`${during} dB beside ${before} dB`);
    expect(x).toHaveLength(80);
    expect(strip.marks[0]!.x).toBe(first!.cells[0]);
  });

  it('says how far it is while it renders, and what it cannot tell', () => {
    expect(captions.length).toBeGreaterThan(10);
    expect(captions.every((caption) => /^The loop is rendered: \d+ %\.$/.test(caption))).toBe(true);
    expect(figure.remarks.join(' ')).toContain('cannot be told which harmonic');
    expect(figure.remarks.join(' ')).toContain('no masking is counted');
    expect(figure.remarks.join(' ')).toContain('A bias that moves');
  });

  it('sums to the same in bands as in all, and reads the music at its level', () => {
    const [, bands, ways] = figure.tables;
    const rows = bands!.rows.map(({ cells }) => cells as readonly [string, ...(number | null)[]]);
    const power = (column: number): number => 10 * Math.log10(rows.slice(0, -2).reduce((sum, cells) => sum + 10 ** ((cells[column] as number | null ?? -300) / 10), 0));
    const all = rows.at(-2)!;
    // 0.01 dB: windows a quarter of their length apart, and the edges of the burst beyond 20 kHz.
    expect(Math.abs(power(1) - (all[1] as number))).toBeLessThan(0.01);
    // 1 dB: the lowest band begins at 18 Hz, and the bias that the clipped burst moves reaches into it.
    expect(power(5) - (all[5] as number)).toBeLessThan(1);
    expect(power(5) - (all[5] as number)).toBeGreaterThan(-1);
    const expected = toDb(Math.sqrt(2 * burst.reduce((sum, sample) => sum + sample * sample, 0) / burst.length));
    expect(Math.abs((all[1] as number) - expected)).toBeLessThan(0.01);
    expect((all[6] as number) - (all[5] as number)).toBeCloseTo(24, 9);
    const [moment, region, small] = ways!.rows.map(({ cells }) => cells[1] as number);
    expect(moment! <= region! && region! <= small!).toBe(true);
    expect(ways!.rows[0]!.cells[0]).toContain('(used)');
  });

  it('goes in octaves too, and with one gain has no gain of the moment', () => {
    const { figure: octaves } = figureOf(subjectOf(clipping, [burst]), { bands: 'octave', linearPart: 'region' });
    expect(octaves.tables[1]!.rows).toHaveLength(12);
    expect(octaves.panels.map(({ title }) => title)).toEqual(['where in the loop it acts', 'by bands', 'level in bands, out less in']);
  });
});

describe('a stage alone', () => {
  it('is heard with what reaches it, and adds what it adds', () => {
    const values = { secondDb: -40, thirdSign: 'off' };
    const path = pathOf([{ stage: 'equaliser' }, { stage: 'harmonic-shaping', values }], { oversamplingFactor: 2 });
    const loop = [burst.subarray(0, rateHz)];
    const alone = figureOf(subjectOf(pathOf([{ stage: 'harmonic-shaping', values }], { oversamplingFactor: 2 }), loop)).figure;
    const inside = figureOf(subjectOf(path, loop, { kind: 'stage', key: 's2' })).figure;
    const linear = figureOf(subjectOf(path, loop, { kind: 'stage', key: 's1' })).figure;
    const added = ({ tables }: Figure): number => tables[1]!.rows.at(-2)!.cells[5] as number;
    // At 440 Hz the equaliser's bell and shelf do next to nothing.
    expect(Math.abs(added(inside) - added(alone))).toBeLessThan(0.05);
    expect(inside.title).toContain('the stage adds to the music');
    expect(linear.caption).toBe('From 0.00 to 1.00 s nothing is added above −130.0 dB re the music.');
    expect(linear.tables[0]!.rows).toHaveLength(0);
    expect(linear.panels[0]!.traces[1]!.y.length).toBeGreaterThan(10);
  });
});

describe('its subject', () => {
  it('is the path as it is heard, and the figure hardly another at the measuring grade', () => {
    const path = pathOf([{ stage: 'push-pull' }], { oversamplingFactor: 2 });
    const programme = { title: 'burst', rateHz, channels: [burst.subarray(1.9 * rateHz, 2.2 * rateHz)] };
    const [heard, measured] = (['listening', 'measuring'] as const).map((grade) => subjectOfSetting({ path, joints: null, baseRateHz: rateHz, scope: { kind: 'path' }, grade, programme }));
    expect(view.grade).toBe('listening');
    expect([heard!.plan.grade, measured!.plan.grade]).toEqual(['listening', 'measuring']);
    const added = [heard!, measured!].map((subject) => figureOf(subject).figure.tables[1]!.rows.at(-2)!.cells[5] as number);
    // 0.1 dB: listening allows 0.05 dB of each order at 10 kHz.
    expect(Math.abs(added[0]! - added[1]!)).toBeLessThan(0.1);
  });
});

describe('a steep filter', () => {
  it('leaves nothing where the circuit’s own response is used, and much where it is not known', () => {
    const values = { section1Kind: 'bell', section1Hz: 600, section1Db: 12, section1Quality: 6 };
    const { figure } = figureOf(subjectOf(pathOf([{ stage: 'equaliser', values }], { oversamplingFactor: 2 }), [plucked(2 * rateHz)]));
    const left = figure.tables[2]!.rows.map(({ cells }) => cells[1] as number | null);
    // Null: under the floor.
    expect(left.slice(0, 4)).toEqual([null, null, null, null]);
    if (!(left[4]! > -20)) throw new Error(`${left[4]} dB`);
  });
});

describe('what is refused', () => {
  const facts = (path: PathSetting, frames = 48_000) => factsOf(subjectOf(path, [new Float64Array(frames)]));
  it('no loop, too little of it, no stage', () => {
    expect(view.refuse({ ...facts(clipping), programme: null }, standard)).toContain('got none');
    expect(view.refuse(facts(clipping, 480), standard)).toContain('expected at least 0.1 s of the loop, got 0.010 s');
    expect(view.refuse(facts(pathOf([])), standard)).toContain('No stage is in circuit');
    expect(view.refuse(facts(clipping), standard)).toBeNull();
  });

  it('silence, what oscillates, and a rate that the circuit cannot take', () => {
    expect(() => figureOf(subjectOf(clipping, [new Float64Array(rateHz)]))).toThrow('got silence');
    const programme = { title: 'burst', rateHz, channels: [burst] };
    expect(() => figureOf(subjectOfDocument(latchingPair(1e-9), 384_000, programme))).toThrow('oscillates or is bistable');
    expect(() => figureOf(subjectOfDocument(latchingPair(1e-9), 100_000, programme))).toThrow('got 48000 Hz');
  });
});
