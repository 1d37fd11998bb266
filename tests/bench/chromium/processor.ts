// The bench's chain on an audio thread: times it by the worklet's own clock, and plays it while late blocks are counted.
import type { PathRunner } from '../../../dsp/path/index.ts';
import { LoadMeter } from '../../../worklets/audio/load-meter.ts';
import { adoptModules, installCompiledCode } from '../../../worklets/compiled-code.ts';
import { blockFrames, chainRunner, runBlocks, ToneBlocks } from '../chain.ts';
import type { FromSpeed, SpeedOptions, ToSpeed } from './messages.ts';

// Of the audio worklet's global scope.
declare const sampleRate: number;
declare const currentTime: number;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, processor: new (options: { processorOptions: SpeedOptions }) => AudioWorkletProcessor): void;

const firstBlocks = 50;

installCompiledCode(false);

class SpeedProcessor extends AudioWorkletProcessor {
  readonly #runner: PathRunner;
  readonly #tone = new ToneBlocks();
  readonly #meter = new LoadMeter();
  #chains = 0;
  #blocks = 0;
  #lateBefore = 0;
  #longestFirst = 0;

  constructor({ processorOptions: { plan, modules } }: { processorOptions: SpeedOptions }) {
    super();
    adoptModules(modules);
    this.#runner = chainRunner(plan);
    this.port.onmessage = ({ data }: MessageEvent<ToSpeed>) => this.#take(data);
  }

  #take(message: ToSpeed): void {
    switch (message.kind) {
      case 'time': {
        const start = Date.now();
        runBlocks(this.#runner, this.#tone, message.blocks);
        this.#tell({ kind: 'timed', milliseconds: Date.now() - start });
        // The clocks start anew after the pause.
        this.#meter.restart();
        return;
      }
      case 'play':
        this.#chains = message.chains;
        this.#blocks = 0;
        this.#longestFirst = 0;
        this.#lateBefore = this.#meter.lateBlocks;
        this.#meter.restart();
        return;
      case 'report':
        this.#tell({ kind: 'report', lateBlocks: this.#meter.lateBlocks - this.#lateBefore, load: this.#meter.load, blocks: this.#blocks, longestFirstMilliseconds: this.#longestFirst });
    }
  }

  #tell(message: FromSpeed): void {
    this.port.postMessage(message);
  }

  process(_inputs: Float32Array[][], outputs: Float32Array[][]): boolean {
    this.#meter.begin();
    const start = Date.now();
    runBlocks(this.#runner, this.#tone, this.#chains);
    if (this.#blocks < firstBlocks) this.#longestFirst = Math.max(this.#longestFirst, Date.now() - start);
    this.#blocks += 1;
    outputs[0]!.forEach((channel, index) => channel.set(this.#tone.outputs[index] ?? this.#tone.outputs[0]));
    this.#meter.end(blockFrames, sampleRate, currentTime);
    return true;
  }
}

registerProcessor('stagebench-speed', SpeedProcessor);
