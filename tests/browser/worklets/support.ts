/** The real processor in an offline context of the browser. */
import { OfflineAudioContext, AudioWorkletNode, type IAudioWorkletNode } from 'standardized-audio-context';
import { kernelModules, staticModules, type PathPlan } from '../../../dsp/path/index.ts';
import type { KeyedModule } from '../../../worklets/compiled-code.ts';
import type { FromProcessor, ProcessorOptions, ToProcessor } from '../../../worklets/messages.ts';
import processorAddress from '../../../worklets/audio/processor.ts?single-file-worklet';

export const rateHz = 48_000;

/** A plan's modules, compiled here, as the live worker compiles them. */
export function modulesOf(plan: PathPlan): KeyedModule[] {
  return [...staticModules(), ...kernelModules(plan)].map(({ key, emit }) => ({ key, module: new WebAssembly.Module(emit()) }));
}

export interface OfflineBench {
  readonly heard: FromProcessor[];
  readonly node: IAudioWorkletNode<OfflineAudioContext>;
  /** The live worker's end of the wire. */
  readonly live: MessagePort;
  send(message: ToProcessor, transfer?: Transferable[]): void;
  /** Renders everything; messages sent before are taken before the first block. */
  render(): Promise<Float32Array[]>;
}

export async function offlineBench(options: Omit<ProcessorOptions, 'meters' | 'modules'> & Partial<Pick<ProcessorOptions, 'meters' | 'modules'>>, frames: number): Promise<OfflineBench> {
  const context = new OfflineAudioContext({ numberOfChannels: 2, length: frames, sampleRate: options.plan.baseRateHz });
  await context.audioWorklet!.addModule(processorAddress);
  const heard: FromProcessor[] = [];
  const processorOptions: ProcessorOptions = { meters: null, modules: [], ...options };
  const node = new AudioWorkletNode!(context, 'stagebench', { numberOfInputs: 0, numberOfOutputs: 1, outputChannelCount: [2], processorOptions });
  let barrierPassed = (): void => undefined;
  node.port.onmessage = ({ data }: MessageEvent<FromProcessor>) => {
    if (data.kind === 'match-applied' || data.kind === 'fault') barrierPassed();
    heard.push(data);
  };
  const { port1, port2 } = new MessageChannel();
  const send = (message: ToProcessor, transfer: Transferable[] = []) => node.port.postMessage(message, transfer);
  send({ kind: 'connect', port: port1 }, [port1]);
  node.connect(context.destination);
  return {
    heard, node, live: port2, send,
    render: async () => {
      // Messages are taken in order, and a match at rest is answered at once.
      const barrier = new Promise<void>((resolve) => { barrierPassed = resolve; });
      send({ kind: 'match', inGain: 1, outGain: 1, serial: 0 });
      await barrier;
      const buffer = await context.startRendering();
      // The last messages are on their way when the rendering ends.
      await new Promise((resolve) => { setTimeout(resolve, 50); });
      return [buffer.getChannelData(0), buffer.getChannelData(1)];
    },
  };
}
