/** The real processor with something at its input, in an offline context: through the path, and its own output come back after a known delay. */
import { describe, expect, it } from 'vitest';
import { findLoopbackDelay, loopbackProbe, probeFrames } from '../../../dsp/measure/index.ts';
import type { FromProcessor, ProcessorOptions, ToProcessor } from '../../../worklets/messages.ts';
import processorAddress from '../../../worklets/audio/processor.ts?single-file-worklet';
import { pathOf, planOf } from '../../path/support.ts';

const rateHz = 48_000;
/** What the browser takes to close a circle of nodes. */
const circleFrames = 128;

/** The node with what `wire` puts at its input; messages are taken before the first block. */
async function rendered(frames: number, messages: readonly ToProcessor[], wire: (context: OfflineAudioContext, node: AudioWorkletNode) => void): Promise<{ readonly heard: readonly FromProcessor[]; readonly left: Float32Array }> {
  const context = new OfflineAudioContext(2, frames, rateHz);
  await context.audioWorklet.addModule(processorAddress);
  const processorOptions: ProcessorOptions = { plan: planOf(pathOf([], { oversamplingFactor: 1 })), revision: 1, trialIn: true, monitorGain: 1, meters: null, modules: [] };
  const node = new AudioWorkletNode(context, 'stagebench', { numberOfInputs: 1, outputChannelCount: [2], processorOptions });
  const heard: FromProcessor[] = [];
  const taken = new Promise<void>((resolve) => {
    node.port.onmessage = ({ data }: MessageEvent<FromProcessor>) => {
      heard.push(data);
      if (data.kind === 'match-applied') resolve();
    };
  });
  for (const message of [...messages, { kind: 'match', inGain: 1, outGain: 1, serial: 1 } as const]) node.port.postMessage(message);
  node.connect(context.destination);
  wire(context, node);
  await taken;
  const buffer = await context.startRendering();
  await new Promise((resolve) => { setTimeout(resolve, 50); });
  return { heard, left: buffer.getChannelData(0) };
}

describe('the processor with a live input', () => {
  it('plays what comes in through the path, and nothing of it when the loop is the source', async () => {
    const wire = (context: OfflineAudioContext, node: AudioWorkletNode) => {
      const source = new ConstantSourceNode(context, { offset: 0.25 });
      source.connect(node);
      source.start();
    };
    const live = await rendered(16_000, [{ kind: 'live-source', channels: 'mono' }, { kind: 'play' }], wire);
    expect(live.left[15_999]).toBe(0.25);
    const loop = await rendered(16_000, [{ kind: 'play' }], wire);
    expect(loop.left.every((sample) => sample === 0)).toBe(true);
  });

  it.each([480, 4321])('finds its own output come back after %d frames', async (delay) => {
    const probe = loopbackProbe(rateHz);
    const peak = 0.01;
    const { heard } = await rendered(probeFrames(probe) + 4096, [{ kind: 'loopback', probe, peak }], (context, node) => {
      const way = new DelayNode(context, { delayTime: delay / rateHz, maxDelayTime: 1 });
      const loss = new GainNode(context, { gain: -0.1 });
      node.connect(way).connect(loss).connect(node);
    });
    const answer = heard.find((message) => message.kind === 'looped-back')!;
    const finding = findLoopbackDelay(answer.recording!, probe, peak);
    if (finding.kind !== 'found') throw new Error(finding.sentence);
    expect(Math.abs(finding.delayFrames - delay - circleFrames), `found ${finding.delayFrames}`).toBeLessThan(0.01);
    expect([finding.heard, finding.inverted]).toEqual([4, true]);
    expect(Math.abs(finding.gainDb + 20)).toBeLessThan(0.1);
  });
});
