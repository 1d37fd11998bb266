// The audio thread's end of the bench: a shell round BenchPlayer. Bundled into one file.
import type { BlindSwitch, FromProcessor, PlanAnswer, ProcessorOptions, ToProcessor } from '../messages.ts';
import { MeterRingWriter } from '../meter-ring.ts';
import { installCompiledCode } from '../compiled-code.ts';
import { BenchPlayer } from './bench-player.ts';
import { LoadMeter } from './load-meter.ts';
import { PlanArrivals } from './plan-arrivals.ts';

/** Without shared memory the meters go by message, at most this often. */
const metersPerSecond = 30;

installCompiledCode(false);

class StagebenchProcessor extends AudioWorkletProcessor {
  #player: BenchPlayer | null = null;
  readonly #ring: MeterRingWriter | null;
  readonly #loadMeter = new LoadMeter();
  #live: MessagePort | null = null;
  #framesSinceMeters = 0;
  #failed = false;

  constructor(options: { processorOptions: ProcessorOptions }) {
    super();
    const { processorOptions } = options;
    this.#ring = processorOptions.meters ? new MeterRingWriter(processorOptions.meters) : null;
    this.#guard(() => { this.#player = new BenchPlayer(processorOptions, sampleRate, (message) => this.#tell(message)); });
    this.port.onmessage = ({ data }: MessageEvent<ToProcessor>) => this.#guard(() => {
      if (data.kind === 'connect') this.#connect(data.port);
      else this.#player?.take(data);
      if (data.kind === 'blind') this.#connectBlind(data.port);
    });
  }

  #connect(port: MessagePort): void {
    this.#live = port;
    new PlanArrivals((plan) => this.#guard(() => this.#player?.takePlan(plan))).listen(port);
  }

  #connectBlind(port: MessagePort): void {
    port.onmessage = ({ data }: MessageEvent<BlindSwitch>) => this.#guard(() => this.#player?.takeBlind(data));
  }

  #tell(message: FromProcessor): void {
    this.port.postMessage(message, message.kind === 'looped-back' && message.recording !== null ? [message.recording.buffer] : []);
    if (message.kind === 'ready') this.#loadMeter.restart();
    if (message.kind === 'landed') this.#live?.postMessage(message satisfies PlanAnswer);
  }

  /** Whatever goes wrong is said once and ends in silence; the page then builds a new node. */
  #guard(action: () => void): void {
    if (this.#failed) return;
    try {
      action();
    } catch (error) {
      this.#failed = true;
      this.#tell({ kind: 'fault', sentence: error instanceof Error ? error.message : String(error) });
    }
  }

  process(inputs: Float32Array[][], outputs: Float32Array[][]): boolean {
    const output = outputs[0]!;
    const frames = output[0]!.length;
    this.#loadMeter.begin();
    this.#guard(() => this.#player?.render(output, frames, inputs[0]));
    const player = this.#player;
    if (this.#failed || player === null) {
      for (const channel of output) channel.fill(0);
      return false;
    }
    this.#loadMeter.end(frames, sampleRate, currentTime);
    this.#writeMeters(player, frames);
    return true;
  }

  #writeMeters(player: BenchPlayer, frames: number): void {
    const { meters } = player;
    meters.load = player.blind ? 0 : this.#loadMeter.load;
    meters.lateBlocks = this.#loadMeter.lateBlocks;
    this.#framesSinceMeters += frames;
    if (this.#ring) {
      this.#ring.write(meters);
    } else if (this.#framesSinceMeters * metersPerSecond >= sampleRate) {
      this.#framesSinceMeters = 0;
      this.#tell({ kind: 'meters', frame: { ...meters } });
    } else {
      return;
    }
    player.clearPeaks();
  }
}

registerProcessor('stagebench', StagebenchProcessor);
