/** The blind worker as the page uses it: tokens in, switches to the audio thread, nothing back until the end. */
import * as Comlink from 'comlink';
import { afterEach, describe, expect, it } from 'vitest';
import { sittingSides, type BlindPlan, type BlindToken, type LongPlan } from '../../../dsp/listening/index.ts';
import type { BlindSwitch } from '../../../worklets/messages.ts';
import type { Blind } from '../../../worklets/workers/blind.ts';

const started: Worker[] = [];
afterEach(() => {
  for (const worker of started.splice(0)) worker.terminate();
});

const plan: BlindPlan = { task: 'identify', length: { kind: 'fixed', trials: 10, significance: 0.05 }, nullShare: 0.2, training: 1, seed: 20261126 };

async function begun(given = plan) {
  const worker = new Worker(new URL('../../../worklets/workers/blind.ts', import.meta.url), { type: 'module' });
  started.push(worker);
  const said: unknown[] = [];
  worker.addEventListener('message', ({ data }: MessageEvent<unknown>) => said.push(data));
  const blind = Comlink.wrap<Blind>(worker);
  const { port1, port2 } = new MessageChannel();
  const switches: BlindSwitch[] = [];
  const heard: (() => void)[] = [];
  port1.onmessage = ({ data }: MessageEvent<BlindSwitch>) => {
    switches.push(data);
    heard.shift()?.();
  };
  const progress = await blind.begin(given);
  const joined = new Promise<void>((resolve) => { heard.push(resolve); });
  await blind.connect(Comlink.transfer(port2, [port2]));
  await joined;
  /** Which side sounded for a token, as only the audio thread gets to know. */
  const switched = async (ask: () => Promise<void>): Promise<boolean> => {
    const next = new Promise<void>((resolve) => { heard.push(resolve); });
    await ask();
    await next;
    return switches.at(-1)!.trialIn;
  };
  const hear = (token: BlindToken): Promise<boolean> => switched(() => blind.hear(token));
  return { blind, hear, switched, switches, progress, said };
}

describe('the blind worker', () => {
  it('plays what it is asked for, tells the page nothing of it, and reports a listener who is always right', async () => {
    const { blind, hear, progress, said } = await begun();
    expect(progress).toEqual({ phase: 'training', number: 1, of: 1 });
    let real = 0;
    for (;;) {
      const [a, b, x] = [await hear('A'), await hear('B'), await hear('X')];
      expect(x === a || x === b).toBe(true);
      said.length = 0;
      const reply = await blind.answer(x === a ? 1 : 2);
      if (reply.truth === null) real += 1;
      // What came back is the count of trials, and in training the truth.
      expect(JSON.stringify(said)).not.toMatch(/"(A|B|X|hit|answer|trialIn)":/);
      if (reply.progress.phase === 'ended') break;
      expect(await blind.record()).toBeNull();
    }
    const record = (await blind.record())!;
    expect(real).toBe(13);
    expect(record.result).toMatchObject({ task: 'identify', hits: 10, trials: 10, nullTrials: 3, stopped: false });
    expect(record.trials).toHaveLength(13);
  });

  it('answers every token with the same words, whatever sounds', async () => {
    const { hear, said } = await begun({ ...plan, training: 0 });
    const replies = new Set<string>();
    for (const token of ['A', 'B', 'X', 'A', 'X'] as const) {
      said.length = 0;
      await hear(token);
      replies.add(JSON.stringify(said.map((message) => ({ ...(message as object), id: '' }))));
    }
    expect(replies.size).toBe(1);
  });

  it('takes no longer for the one than for the other: who only times the answers learns nothing', async () => {
    const { blind, hear } = await begun({ ...plan, length: { kind: 'fixed', trials: 120, significance: 0.05 }, nullShare: 0, training: 0 });
    const took: { isA: boolean; ms: number }[] = [];
    for (let trial = 0; trial < 120; trial += 1) {
      const a = await hear('A');
      const began = performance.now();
      const x = await hear('X');
      took.push({ isA: x === a, ms: performance.now() - began });
      await blind.answer(1);
    }
    // Rank-sum test (H. B. Mann, D. R. Whitney, 1947), by its normal approximation with ties as they fall; four standard errors.
    const firsts = took.filter(({ isA }) => isA);
    const seconds = took.filter(({ isA }) => !isA);
    expect(Math.min(firsts.length, seconds.length)).toBeGreaterThan(40);
    let wins = 0;
    for (const first of firsts) for (const second of seconds) wins += first.ms < second.ms ? 1 : first.ms === second.ms ? 0.5 : 0;
    const pairs = firsts.length * seconds.length;
    const z = (wins - pairs / 2) / Math.sqrt((pairs * (took.length + 1)) / 12);
    expect(Math.abs(z)).toBeLessThan(4);
  });

  it('plays the one side of a sitting and tells nobody which', async () => {
    const long: LongPlan = { pairs: 5, question: 'ease', significance: 0.05, seed: 3 };
    const { blind, switches, said, switched } = await begun({ ...plan, training: 0 });
    const words = new Set<string>();
    switches.length = 0;
    for (let sitting = 0; sitting < 10; sitting += 1) {
      said.length = 0;
      await switched(() => blind.sit(long, sitting));
      words.add(JSON.stringify(said.map((message) => ({ ...(message as object), id: '' }))));
    }
    expect(switches.map(({ trialIn }) => (trialIn ? 0 : 1))).toEqual(sittingSides(long));
    expect(words.size).toBe(1);
    await expect(blind.sit(long, 10)).rejects.toThrow('sitting: expected 0 to 9, got 10');
  });

  it('refuses a plan that is none in a sentence', async () => {
    await expect(begun({ ...plan, nullShare: 0.9 })).rejects.toThrow('nullShare: expected a share from 0 to 0.5, got 0.9');
  });
});
