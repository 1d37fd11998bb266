/** Parts of figures in pool workers, as the page asks for them. */
import * as Comlink from 'comlink';
import { afterEach, describe, expect, it } from 'vitest';
import { factsOfSetting, figureViewById, subjectOfSetting } from '../../../dsp/measure/figures/index.ts';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import type { FigurePartAnswer, FigurePartRequest } from '../../../worklets/messages.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';

// What is measured here for comparison need not take longer than there.
installCompiledCode(true);

const started: Worker[] = [];
afterEach(() => {
  for (const worker of started.splice(0)) worker.terminate();
});

function poolPart() {
  const worker = new Worker(new URL('../../../worklets/workers/pool.ts', import.meta.url), { type: 'module' });
  started.push(worker);
  return Comlink.wrap<Pool>(worker);
}

const { path, baseRateHz } = openingSetting();
const scope = { kind: 'path' } as const;
const view = figureViewById('harmonics-level')!;
const facts = factsOfSetting({ path, baseRateHz, scope, programme: null });
const values = Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default]));
const requestFor = (part: unknown, rest: Partial<FigurePartRequest> = {}): FigurePartRequest => ({ run: 1, view: view.id, values, part, path, joints: null, baseRateHz, scope, programme: null, ...rest });

function pointsOf(answer: FigurePartAnswer): unknown {
  if (answer.kind !== 'measured') throw new Error(`expected points, got ${JSON.stringify(answer)}`);
  return answer.points;
}

const told = () => {
  const points: unknown[] = [];
  return { points, tell: Comlink.proxy((some: unknown) => void points.push(some)) };
};

describe('parts of a figure', () => {
  it('are to the bit what one thread measures, whatever worker has which', async () => {
    const workers = [poolPart(), poolPart()];
    const parts = view.split(facts, values, 2);
    const answers = await Promise.all(parts.map((part, index) => workers[index % 2]!.figurePart(requestFor(part), Comlink.proxy(() => undefined))));
    const subject = subjectOfSetting({ path, joints: null, baseRateHz, scope, programme: null });
    const here = parts.map((part) => {
      const steps = view.measure(subject, values, part);
      let step = steps.next();
      while (!step.done) step = steps.next();
      return step.value as unknown;
    });
    expect(answers.map(pointsOf)).toEqual(here);
    expect(view.draw(facts, values, answers.map(pointsOf)).tables[0]!.rows.length).toBeGreaterThan(20);
  });

  it('tell what has come before they are done, and end when the run is ended', async () => {
    const pool = poolPart();
    const [part] = view.split(facts, values, 1);
    const { points, tell } = told();
    await pool.figurePart(requestFor(part), tell);
    expect(points.length, 'points on the way').toBeGreaterThan(0);
    const second = told();
    const running = pool.figurePart(requestFor(part, { run: 2, values: { ...values, frequencyHz: 977 } }), Comlink.proxy((some: unknown) => {
      second.points.push(some);
      if (second.points.length === 1) void pool.cancelFigure(2);
    }));
    expect(await running).toEqual({ kind: 'cancelled' });
    const seen = second.points.length;
    // What was posted before the end was heard may still come; after that, nothing.
    await pool.cancelFigure(2);
    expect(second.points.length).toBe(seen);
    expect(await pool.figurePart(requestFor(part, { run: 3 }), Comlink.proxy(() => undefined))).toMatchObject({ kind: 'measured' });
  });

  it('refuse with the sentence of the view or of the path', async () => {
    const pool = poolPart();
    const [part] = view.split(facts, values, 1);
    const nothing = Comlink.proxy(() => undefined);
    expect(await pool.figurePart(requestFor(part, { view: 'no-such' }), nothing)).toEqual({ kind: 'refused', sentence: 'There is no figure "no-such".' });
    const broken = { ...path, stages: path.stages.map((stage, index) => (index === 1 ? { ...stage, stage: 'nothing' } : stage)) };
    expect(await pool.figurePart(requestFor(part, { path: broken }), nothing)).toMatchObject({ kind: 'refused', sentence: expect.stringMatching(/nothing/) });
    expect(await pool.figurePart(requestFor(part), nothing), 'and go on').toMatchObject({ kind: 'measured' });
  });

  it('of the music are of the loop that the worker was given, from where the region begins', async () => {
    const pool = poolPart();
    const music = figureViewById('spectrum')!;
    const rateHz = baseRateHz;
    const tone = Float64Array.from({ length: rateHz }, (_, index) => 0.1 * Math.sin(2 * Math.PI * 220 * index / rateHz));
    const channels = [new Float64Array(new SharedArrayBuffer(tone.byteLength))];
    channels[0]!.set(tone);
    await pool.setFigureLoop({ serial: 4, title: 'a tone', rateHz, channels });
    const region = { startFrame: 4800, endFrame: 16_800 };
    const programme = { title: 'a tone', rateHz, startSeconds: 0.1, channels: [tone.subarray(region.startFrame, region.endFrame)] };
    const musicFacts = factsOfSetting({ path, baseRateHz, scope, programme });
    const musicValues = { ...Object.fromEntries(music.parameters.map((parameter) => [parameter.id, parameter.default])), tapped: 'input', size: '4096' };
    const [part] = music.split(musicFacts, musicValues, 1);
    const request = requestFor(part, { view: music.id, values: musicValues, programme: { serial: 4, ...region } });
    const answer = await pool.figurePart(request, Comlink.proxy(() => undefined));
    const steps = music.measure(subjectOfSetting({ path, joints: null, baseRateHz, scope, programme }), musicValues, part);
    let step = steps.next();
    while (!step.done) step = steps.next();
    expect(pointsOf(answer)).toEqual(step.value);
    // Another loop than the one that is asked of: nothing is measured of it.
    expect(await pool.figurePart({ ...request, programme: { serial: 5, ...region } }, Comlink.proxy(() => undefined))).toEqual({ kind: 'refused', sentence: `${music.title}: the loop is not loaded yet.` });
  });
});
