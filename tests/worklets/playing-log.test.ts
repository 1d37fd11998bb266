/** A performance played, logged, and rendered again. */
import { describe, expect, it } from 'vitest';
import { LoopPlayer, PathRenderer, type PathEvent, type PathSetting } from '../../dsp/path/index.ts';
import { applyValues, parseEvents, writeEvents } from '../../dsp/setting/index.ts';
import { PlayingLogKeeper } from '../../ui/page/engine/playing-log.ts';
import { BenchPlayer } from '../../worklets/audio/bench-player.ts';
import { pathOf, planOf, plucked, rateHz, sine } from '../path/support.ts';

const loop = plucked(9000).map((sample, i) => sample + 0.1 * Math.sin(i / 50));

describe('the log of a performance', () => {
  it('renders to the samples that were heard, bit for bit', () => {
    const keeper = new PlayingLogKeeper();
    const first = pathOf(['push-pull', 'harmonic-shaping']);
    const onTrial = { kind: 'path' } as const;
    keeper.remember({ revision: 1, path: first, joints: null, onTrial, pair: null });
    const player = new BenchPlayer({ plan: planOf(first), revision: 1, trialIn: true, monitorGain: 1, meters: null, modules: [] }, rateHz, (message) => keeper.hear(message));
    const heard: number[] = [];
    const run = (frames: number): void => {
      const left = new Float32Array(frames);
      for (let at = 0; at < frames; at += 128) player.render([left.subarray(at, Math.min(frames, at + 128))], Math.min(128, frames - at));
      heard.push(...left);
    };
    const change = (revision: number, path: PathSetting): void => {
      keeper.remember({ revision, path, joints: null, onTrial, pair: null });
      player.takePlan({ revision, plan: planOf(path) });
    };
    run(20 * 128);
    player.take({ kind: 'programme', channels: [loop], region: { startFrame: 0, endFrame: 9000 }, frame: 0 });
    // Before the first sound: these stand at frame 0.
    player.take({ kind: 'match', inGain: 0.9, outGain: 1, serial: 1 });
    player.take({ kind: 'switch', trialIn: false });
    player.take({ kind: 'play' });
    heard.length = 0;
    run(0.2 * rateHz + 200);
    const dialled: PathSetting = { ...first, stages: first.stages.map((stage, k) => (k === 0 ? { ...stage, values: { ...stage.values, quiescentAmperes: 4e-4 } } : stage)) };
    change(2, dialled);
    run(70);
    player.take({ kind: 'switch', trialIn: true });
    run(4000);
    const reordered: PathSetting = { ...dialled, stages: [dialled.stages[1]!, dialled.stages[0]!] };
    change(3, reordered);
    player.take({ kind: 'match', inGain: 0.5, outGain: 1, serial: 2 });
    run(9000);
    player.take({ kind: 'seek', frame: 5000 });
    run(3000);
    player.take({ kind: 'region', region: { startFrame: 1000, endFrame: 7000 } });
    run(7000);

    const log = parseEvents(writeEvents(keeper.log('loop', rateHz, player.meters.pathFrame)!));
    expect(log.frames).toBe(heard.length);
    expect(log.changes.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['path', 'values', 'switch', 'match', 'position']));

    // Rendered as the command line does it.
    let path = first;
    const events: PathEvent[] = [];
    let trialIn = true;
    let gains = { inGain: 1, outGain: 1 };
    const moves = log.changes.flatMap((entry) => (entry.kind === 'position' ? [entry] : []));
    for (const entry of log.changes) {
      if (entry.kind === 'path') path = { ...path, stages: entry.stages };
      if (entry.kind === 'values') path = applyValues(path, entry);
      if (entry.frame === 0) {
        if (entry.kind === 'switch') ({ trialIn } = entry);
        if (entry.kind === 'match') gains = entry;
        continue;
      }
      if (entry.kind === 'path' || entry.kind === 'values') events.push({ frame: entry.frame, plan: planOf(path) });
      if (entry.kind === 'switch') events.push({ frame: entry.frame, trialIn: entry.trialIn });
      if (entry.kind === 'match') events.push({ frame: entry.frame, gains: entry });
    }
    const source = new LoopPlayer();
    source.load([loop], { startFrame: 0, endFrame: loop.length }, 0);
    const input = new Float64Array(log.frames);
    for (let frame = 0, next = 0; frame < log.frames;) {
      for (; moves[next] && moves[next]!.frame <= frame; next += 1) {
        source.setRegion(moves[next]!);
        source.seek(moves[next]!.positionFrame);
      }
      const frames = Math.min(log.frames, moves[next]?.frame ?? Infinity) - frame;
      source.fill([input.subarray(frame, frame + frames)], frames);
      frame += frames;
    }
    const renderer = new PathRenderer(planOf(first), 1, { trialIn, gains, events });
    const rendered: number[] = [];
    const keep = ([channel]: readonly Float64Array[], frames: number): void => { rendered.push(...channel!.subarray(0, frames)); };
    renderer.push([input], input.length, keep);
    renderer.finish(keep);

    // The render is aligned with its input, what was heard lags by the latency; ramps to and from silence lie over the start and the seek.
    const late = renderer.latencyFrames;
    let equal = 0;
    for (let i = 0.2 * rateHz; i < heard.length; i += 1) if (Object.is(Math.fround(rendered[i - late]!), heard[i])) equal += 1;
    const compared = heard.length - 0.2 * rateHz;
    // Two dips of 10 ms down, the rest of a block, and 10 ms up: for the seek and for the region that leaves the position outside.
    expect(compared - equal).toBeLessThanOrEqual(2 * (480 + 128 + 480));
    expect(Object.is(Math.fround(rendered[heard.length - 1 - late]!), heard[heard.length - 1])).toBe(true);
  });

  it('is not kept while a tone plays', () => {
    const keeper = new PlayingLogKeeper();
    const path = pathOf(['push-pull']);
    keeper.remember({ revision: 1, path, joints: null, onTrial: { kind: 'path' }, pair: null });
    const player = new BenchPlayer({ plan: planOf(path), revision: 1, trialIn: true, monitorGain: 1, meters: null, modules: [] }, rateHz, (message) => keeper.hear(message));
    const block = [new Float32Array(128)];
    for (let k = 0; k < 20; k += 1) player.render(block, 128);
    expect(keeper.log('loop', rateHz, 100)?.changes).toHaveLength(4);
    player.take({ kind: 'programme', channels: [sine(100, 0.1, 480)], region: { startFrame: 0, endFrame: 480 }, frame: 0 });
    player.take({ kind: 'tone', tone: { frequencyHz: 1000, peak: 0.1 } });
    player.render(block, 128);
    expect(keeper.log('loop', rateHz, 100)).toBeNull();
  });

  describe('ends where it could not be rendered to what is heard, and begins anew', () => {
    function aPlayer() {
      const keeper = new PlayingLogKeeper();
      const path = pathOf(['push-pull']);
      keeper.remember({ revision: 1, path, joints: null, onTrial: { kind: 'path' }, pair: null });
      const player = new BenchPlayer({ plan: planOf(path), revision: 1, trialIn: true, monitorGain: 1, meters: null, modules: [] }, rateHz, (message) => keeper.hear(message));
      const block = [new Float32Array(128)];
      const run = (blocks: number): void => { for (let k = 0; k < blocks; k += 1) player.render(block, 128); };
      const log = () => keeper.log('loop', rateHz, player.meters.pathFrame);
      run(20);
      player.take({ kind: 'programme', channels: [loop], region: { startFrame: 0, endFrame: 9000 }, frame: 0 });
      player.take({ kind: 'play' });
      run(100);
      expect(log()).toMatchObject({ frames: 100 * 128 });
      return { player, run, log };
    }
    const { port1: port } = new MessageChannel();
    port.close();

    it('with blind work, whatever was reset in it', () => {
      const { player, run, log } = aPlayer();
      player.take({ kind: 'pause' });
      run(20);
      player.take({ kind: 'blind', port });
      expect(log()).toBeNull();
      player.takeBlind({ kind: 'hear', trialIn: false });
      player.take({ kind: 'play' });
      run(50);
      // A loop brought anew begins at frame 0.
      player.take({ kind: 'programme', channels: [loop], region: { startFrame: 0, endFrame: 9000 }, frame: 0 });
      run(50);
      expect(log()).toBeNull();
      player.take({ kind: 'pause' });
      player.take({ kind: 'sighted', trialIn: true });
      run(20);
      expect(log()).toBeNull();
      player.take({ kind: 'play' });
      run(30);
      expect(log()).toMatchObject({ frames: 30 * 128, changes: [{ kind: 'path' }, { kind: 'switch', trialIn: true }, { kind: 'match' }, { kind: 'position' }] });
    });

    it('with what is added, as soon as it sounds', () => {
      const { player, run, log } = aPlayer();
      player.take({ kind: 'hear-difference', heard: true, gain: 1 });
      run(10);
      // It is being measured: the path is heard.
      expect(log()).toMatchObject({ frames: 110 * 128 });
      player.take({ kind: 'difference', samples: { channels: [loop], startFrame: 0, endFrame: 9000 } });
      run(1);
      expect(log()).toBeNull();
      player.take({ kind: 'hear-difference', heard: false, gain: 1 });
      run(50);
      expect(log()).toBeNull();
      player.take({ kind: 'pause' });
      run(20);
      player.take({ kind: 'play' });
      run(30);
      expect(log()).toMatchObject({ frames: 30 * 128 });
      player.take({ kind: 'pause' });
      run(20);
      player.take({ kind: 'hear-difference', heard: true, gain: 1 });
      player.take({ kind: 'play' });
      run(10);
      expect(log()).toBeNull();
    });

    it('has no frames of before where the path has begun anew and nothing plays yet', () => {
      const { player, run, log } = aPlayer();
      player.take({ kind: 'pause' });
      run(20);
      player.take({ kind: 'programme', channels: [loop], region: { startFrame: 0, endFrame: 9000 }, frame: 0 });
      run(1);
      expect(log()).toBeNull();
    });
  });
});
