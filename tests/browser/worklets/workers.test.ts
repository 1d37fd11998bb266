/** Live and pool workers as the page uses them. */
import * as Comlink from 'comlink';
import { afterEach, describe, expect, it } from 'vitest';
import { measurePath, probeJoints, probePeakVolts } from '../../../dsp/measure/index.ts';
import { kernelModules, planPath, staticModules, type PathSetting } from '../../../dsp/path/index.ts';
import { openingSetting, stageRules } from '../../../dsp/setting/index.ts';
import type { LiveAnswer, MeasureRequest, MeasurerAnswer, PathFiguresAnswer, PlanMessage } from '../../../worklets/messages.ts';
import type { Live } from '../../../worklets/workers/live.ts';
import type { Measuring } from '../../../worklets/workers/measurer.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';
import { firstDifference, pathOf, planOf, plucked, renderAll } from '../../path/support.ts';

const started: Worker[] = [];
afterEach(() => {
  for (const worker of started.splice(0)) worker.terminate();
});

function livePart() {
  const worker = new Worker(new URL('../../../worklets/workers/live.ts', import.meta.url), { type: 'module' });
  started.push(worker);
  return Comlink.wrap<Live>(worker);
}

function measurerPart() {
  const worker = new Worker(new URL('../../../worklets/workers/measurer.ts', import.meta.url), { type: 'module' });
  started.push(worker);
  return Comlink.wrap<Measuring>(worker);
}

function poolPart() {
  const worker = new Worker(new URL('../../../worklets/workers/pool.ts', import.meta.url), { type: 'module' });
  started.push(worker);
  return Comlink.wrap<Pool>(worker);
}

function requestFor(path: PathSetting, revision: number, rest: Partial<MeasureRequest> = {}): MeasureRequest {
  return {
    revision, path, joints: null, baseRateHz: 48_000, onTrial: { kind: 'path' }, pair: null, probe: { frequencyHz: 1000, levelDbu: 4 }, scope: 'path', openStageKey: 's1', ...rest,
  };
}

/** Collects answers and waits for the one that is wanted. */
async function listenTo<Answer extends LiveAnswer | MeasurerAnswer>(worker: { listen(tell: (answer: Answer) => void): Promise<void> }) {
  const answers: Answer[] = [];
  const waiting: { readonly wanted: (answer: Answer) => boolean; readonly resolve: (answer: Answer) => void }[] = [];
  await worker.listen(Comlink.proxy((answer: Answer) => {
    answers.push(answer);
    for (const { wanted, resolve } of waiting) if (wanted(answer)) resolve(answer);
  }));
  const next = <Kind extends Answer['kind']>(kind: Kind, revision: number) => new Promise<Extract<Answer, { kind: Kind }>>((resolve) => {
    const wanted = (answer: Answer): boolean => answer.kind === kind && answer.revision === revision;
    const found = answers.find(wanted);
    if (found) resolve(found as Extract<Answer, { kind: Kind }>);
    else waiting.push({ wanted, resolve: resolve as (answer: Answer) => void });
  });
  return { answers, next };
}

const shifted = (quiescentAmperes: number): PathSetting => {
  const { path } = openingSetting();
  return { ...path, stages: path.stages.map((stage) => (stage.stage === 'push-pull' ? { ...stage, values: { ...stage.values, quiescentAmperes } } : stage)) };
};

const broken = (): PathSetting => ({ ...shifted(1e-3), stages: shifted(1e-3).stages.map((stage, k) => (k === 1 ? { ...stage, stage: 'nothing' } : stage)) });

describe('the live worker', () => {
  it('sends plans by revision over the port it was given, and tells the rules that were chosen', async () => {
    const live = livePart();
    const { next } = await listenTo<LiveAnswer>(live);
    const { port1, port2 } = new MessageChannel();
    const plans: PlanMessage[] = [];
    port1.onmessage = ({ data }: MessageEvent<PlanMessage>) => plans.push(data);
    await live.connect(Comlink.transfer(port2, [port2]));
    const path = shifted(4e-4);
    await live.request(requestFor(path, 5));
    const { rules } = await next('built', 5);
    await expect.poll(() => plans.map(({ revision }) => revision)).toEqual([5]);
    // With all its code, compiled; what the node has had is not sent again.
    const keys = [...staticModules(), ...kernelModules(planOf(path))].map(({ key }) => key);
    expect(plans[0]!.modules.map(({ key }) => key)).toEqual(keys);
    expect(plans[0]!.modules.every((sent) => 'module' in sent && sent.module instanceof WebAssembly.Module)).toBe(true);
    expect(rules).toEqual(stageRules(path, planOf(path)));
    expect(rules[2]).toBeNull();
    await live.request(requestFor(shifted(5e-4), 6));
    await expect.poll(() => plans.map(({ revision, modules }) => [revision, modules.length])).toEqual([[5, keys.length], [6, 0]]);
    expect((await live.newestPlan())!.modules.map(({ key }) => key)).toEqual(keys);
  });

  it('names the stage that cannot be built and keeps the last plan', async () => {
    const live = livePart();
    const { next } = await listenTo<LiveAnswer>(live);
    await live.request(requestFor(shifted(1e-3), 1));
    await next('built', 1);
    await live.request(requestFor(broken(), 2));
    const fault = await next('fault', 2);
    expect(fault.stageKey).toBe('s2');
    expect(fault.sentence).toMatch(/^stage 2: /);
    expect(await live.newestPlan()).toMatchObject({ revision: 1 });
  });
});

describe('the measuring worker', () => {
  it('tells harmonics, equal to those computed here, then reports and levels', async () => {
    const measurer = measurerPart();
    const { next } = await listenTo<MeasurerAnswer>(measurer);
    const path = shifted(4e-4);
    await measurer.request(requestFor(path, 5));
    const measured = await next('measured', 5);
    const here = measurePath(planPath(path, 48_000, { grade: 'measuring' }), { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } });
    if (here.oscillates) throw new Error('oscillates');
    expect(measured.figures.map(({ order }) => order)).toEqual([2, 3, 4, 5, 6, 7, 8, 9, 10]);
    measured.figures.forEach(({ db }, k) => expect(Math.abs(db - here.harmonics[k]!.db) <= 1e-9).toBe(true));
    const reported = await next('reported', 5);
    expect(Object.keys(reported.reports)).toEqual(['s1', 's2', 's3']);
    expect(Object.keys(reported.jointLevelsDbu)).toEqual(['s1', 's2', 's3']);
  });

  it('answers for the newest of many values, and never goes back', async () => {
    const measurer = measurerPart();
    const { answers, next } = await listenTo<MeasurerAnswer>(measurer);
    await measurer.request(requestFor(shifted(1e-4), 1));
    await next('measured', 1);
    for (let revision = 2; revision <= 30; revision += 1) void measurer.request(requestFor(shifted(1e-4 * revision), revision));
    const last = await next('measured', 30);
    expect(last.figures).toHaveLength(9);
    const measured = answers.filter(({ kind }) => kind === 'measured').map(({ revision }) => revision);
    expect(measured).toEqual([...measured].sort((a, b) => a - b));
    expect(measured.length).toBeLessThanOrEqual(30);
  });

  it('says nothing of a path that cannot be built, and goes on with the next', async () => {
    const measurer = measurerPart();
    const { answers, next } = await listenTo<MeasurerAnswer>(measurer);
    await measurer.request(requestFor(broken(), 1));
    await measurer.request(requestFor(shifted(1e-3), 2));
    await next('reported', 2);
    expect(answers.filter(({ revision }) => revision === 1)).toEqual([]);
  });

  it('says that a stage out of circuit has no working level', async () => {
    const measurer = measurerPart();
    const { next } = await listenTo<MeasurerAnswer>(measurer);
    await measurer.request(requestFor(pathOf([{ stage: 'push-pull', inCircuit: false }, 'harmonic-shaping']), 1, { scope: 'stage' }));
    expect((await next('measured', 1)).refusal).toBe('Stage 1 is out of circuit: switch it in to measure it at its working level.');
  });

  it('matches the loop region after a quiet moment, and says when the match is stale', async () => {
    const measurer = measurerPart();
    const { answers, next } = await listenTo<MeasurerAnswer>(measurer);
    await measurer.request(requestFor(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: -3 } }]), 1));
    // At another rate than what plays there is nothing to match.
    await measurer.setProgramme({ identifier: 'loop', rateHz: 44_100, encoding: 'pcm24', channels: [plucked(44_100)], firstFrame: 0 }, { startFrame: 0, endFrame: 44_100 });
    // A stretch of a recording: its frames are counted from the recording's start.
    await measurer.setProgramme({ identifier: 'loop', rateHz: 48_000, encoding: 'pcm24', channels: [plucked(48_000)], firstFrame: 1000 }, { startFrame: 1000, endFrame: 49_000 });
    await expect.poll(() => answers.some((answer) => answer.kind === 'matched' && answer.match.kind === 'matched'), { timeout: 20_000 }).toBe(true);
    const states = answers.flatMap((answer) => (answer.kind === 'matched' ? [answer.match] : []));
    expect(states.map(({ kind }) => kind)).toEqual(['stale', 'measuring', 'matched']);
    const last = states[2]!;
    if (last.kind !== 'matched') throw new Error(last.kind);
    expect(Math.abs(last.outGainDb + 3) <= 0.1).toBe(true);
    await measurer.request(requestFor(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: -4 } }]), 2));
    expect((await next('matched', 2)).match.kind).toBe('stale');
  });
});

describe('the pool worker', () => {
  it('renders as it is rendered here, with progress', async () => {
    const pool = poolPart();
    const path = pathOf(['push-pull', 'harmonic-shaping']);
    const input = plucked(9600);
    const progress: number[] = [];
    const outputs = await pool.render({ job: 1, path, joints: null, baseRateHz: 48_000, channels: [input], passes: 2 }, Comlink.proxy((done: number) => { progress.push(done); }));
    expect(firstDifference(outputs![0]!, renderAll(planOf(path), [input], { passes: 2 })[0]!)).toBe(-1);
    expect(progress).toEqual([...progress].sort((a, b) => a - b));
    expect(progress.every((done) => done > 0 && done <= 1)).toBe(true);
  });

  it('stops when it is told to', async () => {
    const pool = poolPart();
    // It has been fetched.
    await pool.cancel(2);
    const rendering = pool.render({ job: 2, path: pathOf(['single-ended-bipolar', 'push-pull']), joints: null, baseRateHz: 48_000, channels: [plucked(48_000)], passes: 20 });
    await new Promise((resolve) => { setTimeout(resolve, 100); });
    const asked = performance.now();
    await pool.cancel(2);
    expect(await rendering).toBeNull();
    // Twenty passes would take ten seconds and more; a slice is 8 ms, and other work shares the processor.
    expect(performance.now() - asked).toBeLessThan(1500);
  });
});

describe('figures of a whole path', () => {
  it('come from the pool: verdicts on the joints as they are found here, and a newer request ends an older one', async () => {
    const pool = poolPart();
    const path = pathOf(['single-ended-bipolar', 'push-pull', 'harmonic-shaping']);
    const heard: PathFiguresAnswer[] = [];
    const tell = Comlink.proxy((answer: PathFiguresAnswer) => { heard.push(answer); });
    const first = pool.figures({ revision: 1, path: pathOf(['single-ended-field-effect', 'single-ended-bipolar']), onTrial: { kind: 'path' }, baseRateHz: 48_000 }, tell);
    const second = pool.figures({ revision: 2, path, onTrial: { kind: 'stage', key: 's2' }, baseRateHz: 48_000 }, tell);
    expect(await first).toBe(false);
    expect(await second).toBe(true);
    expect(heard.every(({ revision }) => revision === 2)).toBe(true);
    const probing = probeJoints(path);
    let step = probing.next();
    while (!step.done) step = probing.next();
    expect(heard.find(({ kind }) => kind === 'probed')).toEqual({ kind: 'probed', revision: 2, joints: step.value });
    expect(step.value[0]).toBeNull();
    expect(step.value[1]!.differenceDb).toBeGreaterThanOrEqual(0);
    expect(step.value[2], 'the shaping stage is no circuit').toBeNull();
    expect(heard.map(({ kind }) => kind)).toEqual(['probed', 'headroom', 'supplied', 'interfaced']);
    for (const answer of heard) {
      if (answer.kind === 'headroom') expect(answer.headroom!.stages.every(({ levelDbu }) => levelDbu > 0 && levelDbu < 8)).toBe(true);
      if (answer.kind === 'supplied') expect(answer.figures, 'an ideal supply').toBeNull();
      if (answer.kind === 'interfaced') expect(answer.verdict!.remarks[0]!.words).toMatch(/the stage/);
    }
  });
});
