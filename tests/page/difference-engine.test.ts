/** The engine's part in hearing only what is added: when it is measured, what the audio thread is sent, and when it is let go. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { ToProcessor } from '../../worklets/messages.ts';
import { differenceInSteps, type DifferenceRequest, type FoundDifference } from '../../worklets/workers/difference.ts';
import type { Bench } from '../../ui/page/bench.ts';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { Difference } from '../../ui/page/engine/difference.ts';
import { raiseInForce } from '../../ui/page/reduce-difference.ts';
import type { MatchState } from '../../ui/page/state.ts';
import { pathOf, plucked, rateHz } from '../path/support.ts';
import { makeBench } from './support.ts';

const matched: MatchState = { kind: 'matched', inGainDb: -6, outGainDb: 0, residualDb: 0, waitsForSwitch: false };

class Desk {
  readonly bench: Bench;
  readonly sent: ToProcessor[] = [];
  readonly asked: DifferenceRequest[] = [];
  readonly cancelled: number[] = [];
  readonly part: Difference;
  /** What is asked waits for it. */
  hold: Promise<void> = Promise.resolve();

  constructor() {
    const { bench } = makeBench();
    this.bench = bench;
    const channels = [plucked(48_000)];
    let jobs = 0;
    const pool = {
      difference: async (request: DifferenceRequest, onProgress: (done: number) => void): Promise<FoundDifference | null> => {
        this.asked.push(request);
        await this.hold;
        if (this.cancelled.includes(request.job)) return null;
        onProgress(0.5);
        // A path that takes no time stands for the one on the bench.
        const steps = differenceInSteps({ ...request, path: pathOf(['harmonic-shaping'], { oversamplingFactor: 1 }), joints: null, onTrial: { kind: 'path' } });
        for (let step = steps.next(); ; step = steps.next()) if (step.done) return step.value;
      },
      cancel: (job: number) => { this.cancelled.push(job); },
    };
    const context = {
      dispatch: (action: Parameters<Bench['dispatch']>[0]) => bench.dispatch(action), state: () => bench.state, graph: () => ({ send: (message: ToProcessor) => { this.sent.push(message); } }),
      programme: () => ({ identifier: 'piano', rateHz, encoding: 'float64', channels, firstFrame: 0 }), pool, newJob: () => (jobs += 1),
    };
    this.part = new Difference(context as unknown as EngineContext);
    bench.subscribe((before, after, action) => this.part.follow(before, after, action));
    bench.dispatch({ kind: 'region', region: { startSeconds: 0.25, endSeconds: 0.55 } });
    bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: matched });
  }

  get phase(): string {
    return this.bench.state.live.difference.phase.kind;
  }

  /** Sent since the last call, by kind. */
  taken(): ToProcessor[] {
    return this.sent.splice(0);
  }
}

beforeEach(() => { vi.useFakeTimers(); });
afterEach(() => { vi.useRealTimers(); });

describe('the difference on the bench', () => {
  it('is measured when it is first wanted, over the region, under the gains of the match; then sent with its raise', async () => {
    const desk = new Desk();
    await vi.advanceTimersByTimeAsync(2000);
    expect([desk.asked.length, desk.phase]).toEqual([0, 'none']);
    desk.bench.dispatch({ kind: 'hear-difference', heard: true });
    await vi.advanceTimersByTimeAsync(1);
    expect(desk.phase).toBe('ready');
    expect(desk.asked).toHaveLength(1);
    expect(desk.asked[0]).toMatchObject({ pair: null, onTrial: { kind: 'path' }, gains: { outGain: 1 } });
    expect(Math.abs(desk.asked[0]!.gains.inGain - 10 ** (-6 / 20))).toBeLessThan(1e-12);
    expect(desk.asked[0]!.channels[0]).toEqual(plucked(48_000).slice(12_000, 26_400));
    const sent = desk.taken();
    const raise = 10 ** (raiseInForce(desk.bench.state.live.difference) / 20);
    expect(sent.find(({ kind }) => kind === 'difference')).toMatchObject({ samples: { startFrame: 12_000, endFrame: 26_400 } });
    const hear = sent.at(-1) as Extract<ToProcessor, { kind: 'hear-difference' }>;
    expect([hear.kind, hear.heard, Math.abs(hear.gain / raise - 1) < 1e-12]).toEqual(['hear-difference', true, true]);
    desk.bench.dispatch({ kind: 'raise-difference', stepDb: -1 });
    expect(desk.taken()).toHaveLength(1);
    desk.bench.dispatch({ kind: 'switch', trialIn: false });
    expect(desk.taken()).toMatchObject([{ kind: 'hear-difference', heard: false }]);
  });

  it('plays on, stale, while a value changes, and is measured once the match stands again', async () => {
    const desk = new Desk();
    desk.bench.dispatch({ kind: 'hear-difference', heard: true });
    await vi.advanceTimersByTimeAsync(1);
    desk.taken();
    desk.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' });
    expect([desk.phase, desk.taken()]).toEqual(['stale', []]);
    await vi.advanceTimersByTimeAsync(1000);
    // The match is stale with it.
    expect([desk.phase, desk.asked.length]).toEqual(['stale', 1]);
    desk.bench.dispatch({ kind: 'matched', revision: desk.bench.state.live.revision, match: matched });
    await vi.advanceTimersByTimeAsync(1);
    expect([desk.phase, desk.asked.length]).toEqual(['ready', 2]);
    expect(desk.taken().map(({ kind }) => kind)).toContain('difference');
  });

  it('is let go where another passage or another thing is on trial, and where nobody wants it any more', async () => {
    const desk = new Desk();
    desk.bench.dispatch({ kind: 'hear-difference', heard: true });
    await vi.advanceTimersByTimeAsync(1);
    for (const change of [{ kind: 'region', region: null }, { kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } }] as const) {
      desk.taken();
      desk.bench.dispatch(change);
      expect([desk.phase, desk.bench.state.live.difference.levels]).toEqual(['none', null]);
      expect(desk.taken()[0]).toEqual({ kind: 'difference', samples: null });
      desk.bench.dispatch({ kind: 'matched', revision: desk.bench.state.live.revision, match: matched });
      await vi.advanceTimersByTimeAsync(401);
      expect(desk.phase).toBe('ready');
    }
    // Switched off while it is measured: nothing is under way any more.
    desk.bench.dispatch({ kind: 'hear-difference', heard: false });
    desk.bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'path' } });
    desk.bench.dispatch({ kind: 'matched', revision: desk.bench.state.live.revision, match: matched });
    desk.bench.dispatch({ kind: 'hear-difference', heard: true });
    desk.hold = new Promise(() => undefined);
    await vi.advanceTimersByTimeAsync(1);
    expect(desk.phase).toBe('measuring');
    const before = desk.asked.length;
    desk.bench.dispatch({ kind: 'hear-difference', heard: false });
    expect(desk.phase).toBe('none');
    desk.bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 0.3 } });
    desk.bench.dispatch({ kind: 'matched', revision: desk.bench.state.live.revision, match: matched });
    await vi.advanceTimersByTimeAsync(2000);
    expect([desk.asked.length, desk.phase]).toEqual([before, 'none']);
  });
});
