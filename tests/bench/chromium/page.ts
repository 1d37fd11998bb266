/** The page's part: compiles what the chain needs, warms it up as the live worker does, posts it to the audio thread. */
import { kernelModules, staticModules } from '../../../dsp/path/index.ts';
import type { PathPlan } from '../../../dsp/path/index.ts';
import { moduleOf } from '../../../dsp/webassembly/index.ts';
import { installCompiledCode, type KeyedModule } from '../../../worklets/compiled-code.ts';
import { Warming } from '../../../worklets/warming.ts';
import { blockFrames, blockMilliseconds, chainPlan, chainRunner } from '../chain.ts';
import { baseRateHz } from '../circuits.ts';
import { median } from '../median.ts';
import type { FromSpeed, SpeedOptions, ToSpeed } from './messages.ts';

export interface ChromiumFigures {
  readonly realTimeT1: number;
  readonly realTimeListening: number;
  /** Of the listening chain at real time. */
  readonly lateBlocks: number;
  readonly playedBlocks: number;
  readonly longestFirstMilliseconds: number;
  /** Most chains at once without a late block; `null`: not even one. */
  readonly chainsWithoutLateBlocks: number | null;
}

declare global {
  interface Window {
    timeChain: (processorSource: string) => Promise<ChromiumFigures>;
  }
}

/** A node that runs the chain. */
class Speed {
  private readonly node: AudioWorkletNode;

  constructor(context: AudioContext, plan: PathPlan) {
    warmUp(plan);
    const processorOptions: SpeedOptions = { plan, modules: modulesOf(plan) };
    this.node = new AudioWorkletNode(context, 'stagebench-speed', { numberOfInputs: 0, numberOfOutputs: 1, outputChannelCount: [2], processorOptions });
    // Silent: only the time is wanted.
    const silence = new GainNode(context, { gain: 0 });
    this.node.connect(silence).connect(context.destination);
  }

  /** Times real time: medians of stretches of 100 blocks, 0.27 s of sound. */
  async realTime(stretches: number): Promise<number> {
    const figures: number[] = [];
    for (let stretch = -3; stretch < stretches; stretch += 1) {
      const answer = await this.ask({ kind: 'time', blocks: 100 });
      if (answer.kind === 'timed' && stretch >= 0) figures.push((100 * blockMilliseconds) / answer.milliseconds);
    }
    return median(figures);
  }

  async play(chains: number, seconds: number) {
    this.send({ kind: 'play', chains });
    await new Promise((resolve) => { setTimeout(resolve, 1000 * seconds); });
    const answer = await this.ask({ kind: 'report' });
    this.send({ kind: 'play', chains: 0 });
    if (answer.kind !== 'report') throw new Error(`expected a report, got ${answer.kind}`);
    return answer;
  }

  remove(): void {
    this.node.disconnect();
  }

  private send(message: ToSpeed): void {
    this.node.port.postMessage(message);
  }

  private ask(message: ToSpeed): Promise<FromSpeed> {
    return new Promise((resolve) => {
      this.node.port.onmessage = ({ data }: MessageEvent<FromSpeed>) => resolve(data);
      this.send(message);
    });
  }
}

function modulesOf(plan: PathPlan): KeyedModule[] {
  return [...staticModules(), ...kernelModules(plan)].map(({ key, emit }) => {
    const module = moduleOf(key, emit);
    if (module === null) throw new Error(`${key}: expected a module, got none`);
    return { key, module };
  });
}

function warmUp(plan: PathPlan): void {
  const runner = chainRunner(plan);
  const warming = new Warming(runner);
  const buffers = [new Float64Array(blockFrames), new Float64Array(blockFrames)];
  while (!warming.done) warming.run(runner, buffers, buffers, blockFrames);
}

window.timeChain = async (processorSource) => {
  const lack = installCompiledCode(true);
  if (lack !== null) throw new Error(`expected a browser with WebAssembly, got ${lack}`);
  const context = new AudioContext({ sampleRate: baseRateHz, latencyHint: 'interactive' });
  await context.audioWorklet.addModule(URL.createObjectURL(new Blob([processorSource], { type: 'text/javascript' })));
  await context.resume();
  const listening = new Speed(context, chainPlan('listening'));
  // First of all, as it is when somebody presses play.
  const first = await listening.play(1, 5);
  const realTimeListening = await listening.realTime(9);
  let chainsWithoutLateBlocks: number | null = first.lateBlocks === 0 ? 1 : null;
  for (let chains = 2; chainsWithoutLateBlocks === chains - 1 && chains < realTimeListening + 1; chains += 1) {
    const { lateBlocks } = await listening.play(chains, 2);
    if (lateBlocks === 0) chainsWithoutLateBlocks = chains;
  }
  listening.remove();
  const plain = new Speed(context, chainPlan('T1'));
  const realTimeT1 = await plain.realTime(9);
  plain.remove();
  await context.close();
  return { realTimeT1, realTimeListening, lateBlocks: first.lateBlocks, playedBlocks: first.blocks, longestFirstMilliseconds: first.longestFirstMilliseconds, chainsWithoutLateBlocks };
};
