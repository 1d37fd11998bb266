/** The Web Audio graph: one context, one node. Made on a press, since browsers keep silent before one. */
import { AudioContext, AudioWorkletNode, type IAudioWorkletNode, type IMediaStreamAudioSourceNode } from 'standardized-audio-context';
import type { FromProcessor, MeterFrame, ProcessorOptions, ToProcessor } from '../../../worklets/messages.ts';
import { meterRingBytes, MeterRingReader } from '../../../worklets/meter-ring.ts';
import processorAddress from '../../../worklets/audio/processor.ts?single-file-worklet';

/** Asked of the output: enough that a fade, when a changed stage runs twice for 10 ms, is made up for in time; little enough that Escape is heard at once. */
const bufferSeconds = 0.025;

let localAddress: Promise<string> | null = null;

/** Fetches the processor once, before the first press, and keeps it: after loading, the page asks the network for nothing. */
export function prefetchProcessor(): Promise<string> {
  localAddress ??= fetch(processorAddress).then(async (answer) => {
    if (!answer.ok) throw new Error(`the audio processor could not be loaded: ${answer.status} ${answer.statusText}`);
    return URL.createObjectURL(new Blob([await answer.arrayBuffer()], { type: 'text/javascript' }));
  }).catch((error: unknown) => {
    // The next press tries again.
    localAddress = null;
    throw error;
  });
  return localAddress;
}

export type NodeOptions = Omit<ProcessorOptions, 'meters'>;

export class AudioGraph {
  readonly #context: AudioContext;
  readonly #hear: (message: FromProcessor) => void;
  #ready: Promise<void>;
  #node: IAudioWorkletNode<AudioContext> | null = null;
  #input: IMediaStreamAudioSourceNode<AudioContext> | null = null;
  #ring: MeterRingReader | null = null;
  #sentMeters: MeterFrame | null = null;

  /** Call within a press. `hear` gets every message of the node, and a `fault` when it dies in any other way. */
  constructor(rateHz: number, hear: (message: FromProcessor) => void) {
    this.#hear = hear;
    this.#context = new AudioContext({ sampleRate: rateHz, latencyHint: bufferSeconds });
    this.#ready = this.#load(rateHz);
  }

  get rateHz(): number {
    return this.#context.sampleRate;
  }

  async #load(rateHz: number): Promise<void> {
    const { audioWorklet, sampleRate } = this.#context;
    if (sampleRate !== rateHz) throw new Error(`asked this browser for ${rateHz} Hz, got ${sampleRate} Hz; nothing is resampled here, so nothing plays`);
    if (!audioWorklet || !AudioWorkletNode) throw new Error('this browser has no audio worklets');
    const address = await prefetchProcessor();
    await Promise.all([audioWorklet.addModule(address), this.#context.resume()]);
  }

  /** Within a press, where the browser waits for one. */
  wake(): void {
    void this.#context.resume();
  }

  get built(): boolean {
    return this.#node !== null;
  }

  /** Makes the node, in place of an earlier one, and joins it to the live worker by `port`. */
  async build(options: NodeOptions, port: MessagePort): Promise<void> {
    await this.#ready;
    this.drop();
    const memory = globalThis.crossOriginIsolated ? new SharedArrayBuffer(meterRingBytes) : null;
    const processorOptions: ProcessorOptions = { ...options, meters: memory };
    const node = new AudioWorkletNode!(this.#context, 'stagebench', {
      numberOfInputs: 1, numberOfOutputs: 1, outputChannelCount: [2], processorOptions,
    });
    this.#ring = memory ? new MeterRingReader(memory) : null;
    node.port.onmessage = ({ data }: MessageEvent<FromProcessor>) => {
      if (this.#node !== node) return;
      if (data.kind === 'meters') this.#sentMeters = data.frame;
      else this.#hear(data);
    };
    node.onprocessorerror = () => {
      if (this.#node === node) this.#hear({ kind: 'fault', sentence: 'the audio processor ended' });
    };
    this.#node = node;
    this.send({ kind: 'connect', port }, [port]);
    node.connect(this.#context.destination);
  }

  /** What goes to the node's input in place of what went there before; null: nothing. Throws where this browser does not join the two rates. */
  setInput(stream: MediaStream | null): void {
    this.#input?.disconnect();
    this.#input = null;
    if (stream === null || this.#node === null) return;
    this.#input = this.#context.createMediaStreamSource(stream);
    this.#input.connect(this.#node);
  }

  /** As the browser states it; 0: it does not. */
  get latency(): { readonly baseSeconds: number; readonly outputSeconds: number } {
    // The library in front of the context hands on the first only.
    const native = (this.#context as unknown as { readonly _nativeAudioContext?: { readonly outputLatency?: number } })._nativeAudioContext;
    return { baseSeconds: this.#context.baseLatency, outputSeconds: native?.outputLatency ?? 0 };
  }

  send(message: ToProcessor, transfer: Transferable[] = []): void {
    this.#node?.port.postMessage(message, transfer);
  }

  /** What the meters showed since the last call; null when nothing is new. */
  readMeters(): MeterFrame | null {
    if (this.#ring) return this.#ring.read();
    const sent = this.#sentMeters;
    this.#sentMeters = null;
    return sent;
  }

  /** The node is let go; the context stays. */
  drop(): void {
    this.setInput(null);
    this.#node?.disconnect();
    if (this.#node) this.#node.port.onmessage = null;
    this.#node = null;
    this.#ring = null;
  }

  async close(): Promise<void> {
    this.drop();
    await this.#context.close();
  }
}

let deviceHz: number | null | undefined;

/** What the output device runs at, as a context that was asked for no rate tells it; what plays at another is converted behind the bench. Null: not known. */
export function outputDeviceHz(): number | null {
  if (deviceHz !== undefined) return deviceHz;
  try {
    // The browser's own: it is joined to nothing.
    const context = new globalThis.AudioContext();
    deviceHz = context.sampleRate;
    void context.close();
  } catch {
    deviceHz = null;
  }
  return deviceHz;
}
