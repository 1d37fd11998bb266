/** A live input: opens the device, joins it to the audio thread, has a worker keep its last half minute, and measures the way from output to input. */
import * as Comlink from 'comlink';
import { decibelsToRatio, sha256 } from '../../../dsp/math/index.ts';
import { loopbackProbe } from '../../../dsp/measure/index.ts';
import { encodeWholeWav } from '../../../dsp/recording/index.ts';
import type { FromProcessor } from '../../../worklets/messages.ts';
import { sampleRingBytes } from '../../../worklets/sample-ring.ts';
import type { InputReading, LiveInputKeeping } from '../../../worklets/workers/live-input.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import { inputDevices, openInput, settingsOf } from './input-device.ts';
import { sayFailure } from './say-failure.ts';

/** What the browser states of its delays settles after a while. */
const latencyMilliseconds = 1000;
const notKept = 'Nothing of this input can be kept';

export class LiveInput implements EnginePart {
  readonly #context: EngineContext;
  readonly #worker = new Worker(new URL('../../../worklets/workers/live-input.ts', import.meta.url), { type: 'module', name: 'live-input' });
  readonly #keeper = Comlink.wrap<LiveInputKeeping>(this.#worker);
  #stream: MediaStream | null = null;
  /** Of the newest opening: what an older one brings is closed again. */
  #serial = 0;
  #latencyTimer: ReturnType<typeof setInterval> | undefined;
  #burstPeak = 0;

  constructor(context: EngineContext) {
    this.#context = context;
    (navigator as { readonly mediaDevices?: MediaDevices }).mediaDevices?.addEventListener('devicechange', this.#devicesChanged);
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const was = before.live.input;
    const is = after.live.input;
    if (is.phase !== was.phase) {
      if (is.phase === 'opening') void this.#open(is.deviceId, after.live.baseRateHz);
      else if (is.phase !== 'open') this.#close();
    }
    const graph = this.#context.graph();
    if (graph?.built && (is.sounding !== was.sounding || (is.sounding && is.channels !== was.channels))) this.#sendSource(graph);
    if (action.kind === 'input-keep') void this.#keep(action.seconds);
    if (is.loopback.kind === 'measuring' && was.loopback.kind !== 'measuring') this.#measure(after);
    // Its context is closed, and the recording with it.
    if (is.loopback.kind === 'measuring' && after.live.baseRateHz !== before.live.baseRateHz) this.#fail('The bench plays at another rate now: measure again.');
    if (is.phase === 'open' && after.setting.path !== before.setting.path) void this.#tellLatency();
  }

  nodeBuilt(graph: AudioGraph): void {
    if (this.#stream === null) return;
    try {
      this.#join(graph, this.#stream);
      this.#sendSource(graph);
    } catch (error) {
      this.#lost(this.#serial, sentenceOf(error));
    }
  }

  hear(message: FromProcessor): void {
    if (message.kind === 'howl') this.#context.dispatch({ kind: 'input-howl', frequencyHz: message.frequencyHz });
    if (message.kind === 'fault' && this.#context.state().live.input.loopback.kind === 'measuring') this.#fail('The audio processor stopped meanwhile: measure again.');
    if (message.kind === 'looped-back') void this.#find(message.recording);
  }

  dispose(): void {
    this.#close();
    navigator.mediaDevices?.removeEventListener('devicechange', this.#devicesChanged);
    this.#worker.terminate();
  }

  async #open(deviceId: string | null, rateHz: number): Promise<void> {
    this.#close();
    const serial = this.#serial;
    try {
      const stream = await openInput(deviceId, rateHz);
      if (serial !== this.#serial) {
        stop(stream);
        return;
      }
      this.#stream = stream;
      const [track] = stream.getAudioTracks();
      if (!track) throw new Error('The input gives no sound: choose another.');
      track.onended = () => this.#lost(serial, 'The input is gone: it was disconnected, or the browser took it back. Connect it and ask again.');
      track.onmute = () => this.#context.dispatch({ kind: 'message', text: 'The input is muted by the system or its own switch.', urgent: false });
      const devices = await inputDevices();
      if (serial !== this.#serial) return;
      const graph = this.#context.graph();
      if (graph?.built) this.#join(graph, stream);
      this.#context.dispatch({ kind: 'input-opened', settings: settingsOf(track), devices });
      this.#latencyTimer = setInterval(() => void this.#tellLatency(), latencyMilliseconds);
    } catch (error) {
      this.#lost(serial, sentenceOf(error));
    }
  }

  #lost(serial: number, sentence: string): void {
    if (serial === this.#serial) this.#context.dispatch({ kind: 'input-lost', sentence });
  }

  #close(): void {
    this.#serial += 1;
    clearInterval(this.#latencyTimer);
    const graph = this.#context.graph();
    graph?.setInput(null);
    graph?.send({ kind: 'keep-input', tap: null });
    void this.#keeper.disconnect();
    if (this.#stream) stop(this.#stream);
    this.#stream = null;
    this.#context.readings.input.heldSeconds = 0;
    this.#context.readings.input.peak = 0;
  }

  /** @throws Error with one sentence where the browser does not join two rates */
  #join(graph: AudioGraph, stream: MediaStream): void {
    try {
      graph.setInput(stream);
    } catch (error) {
      throw new Error(`This browser does not join an input of another rate to a bench at ${this.#context.state().live.baseRateHz} Hz (${sentenceOf(error)}): set the device to that rate.`, { cause: error });
    }
    const { readings } = this.#context;
    const tell = Comlink.proxy((reading: InputReading) => Object.assign(readings.input, reading));
    const rateHz = this.#context.state().live.baseRateHz;
    if (globalThis.crossOriginIsolated) {
      const ring = new SharedArrayBuffer(sampleRingBytes);
      sayFailure(this.#context, this.#keeper.connect(rateHz, { ring, port: null }, tell), notKept);
      graph.send({ kind: 'keep-input', tap: { place: 'input', ring, port: null } });
    } else {
      const { port1, port2 } = new MessageChannel();
      sayFailure(this.#context, this.#keeper.connect(rateHz, Comlink.transfer({ ring: null, port: port2 }, [port2]), tell), notKept);
      graph.send({ kind: 'keep-input', tap: { place: 'input', ring: null, port: port1 } }, [port1]);
    }
  }

  #sendSource(graph: AudioGraph): void {
    const { sounding, channels } = this.#context.state().live.input;
    graph.send({ kind: 'live-source', channels: sounding ? channels : null });
  }

  readonly #devicesChanged = (): void => {
    if (this.#stream) sayFailure(this.#context, inputDevices().then((devices) => this.#context.dispatch({ kind: 'input-devices', devices })), 'The list of inputs is as it was');
  };

  async #tellLatency(): Promise<void> {
    const graph = this.#context.graph();
    const { setting, live } = this.#context.state();
    if (!graph?.built || !live.input.settings) return;
    const { oversamplingFactor, ladder } = setting.path;
    const pathSeconds = await this.#keeper.pathFrames(live.baseRateHz, oversamplingFactor, ladder) / live.baseRateHz;
    const latency = { ...graph.latency, inputSeconds: live.input.settings.latencySeconds, pathSeconds };
    const before = live.input.latency;
    const same = before && (['baseSeconds', 'outputSeconds', 'inputSeconds', 'pathSeconds'] as const).every((name) => Math.abs((before[name] ?? 0) - (latency[name] ?? 0)) < 1e-4);
    if (!same && this.#stream) this.#context.dispatch({ kind: 'input-latency', latency });
  }

  /** The same bytes are told by the same identifier as a file of the listener's own. */
  async #keep(seconds: number): Promise<void> {
    const { dispatch, state } = this.#context;
    try {
      const channels = await this.#keeper.last(seconds);
      if (channels === null) throw new Error('nothing has come in yet');
      const format = { encoding: 'float32', channelCount: channels.length === 2 ? 2 : 1, rateHz: state().live.baseRateHz } as const;
      const bytes = encodeWholeWav(format, channels, { clippedSamples: 0, notNumberSamples: 0 }) as Uint8Array<ArrayBuffer>;
      const now = new Date().toTimeString().slice(0, 8).replaceAll(':', '.');
      const file = new File([bytes], `input kept at ${now}.wav`, { type: 'audio/wav' });
      dispatch({ kind: 'input-kept', loop: `file:${sha256(bytes).slice(0, 16)}` });
      dispatch({ kind: 'open-material', file, handle: null });
    } catch (error) {
      dispatch({ kind: 'message', text: `Not kept: ${sentenceOf(error)}.`, urgent: true });
    }
  }

  #measure({ live }: BenchState): void {
    const graph = this.#context.graph();
    if (!graph?.built) {
      this.#fail('The bench has no output yet: press Play once, then measure.');
      return;
    }
    this.#burstPeak = decibelsToRatio(live.input.loopbackDbfs);
    graph.send({ kind: 'loopback', probe: loopbackProbe(live.baseRateHz), peak: this.#burstPeak });
  }

  /** Null: it was ended, and whoever ended it knows. */
  async #find(recording: Float64Array<ArrayBuffer> | null): Promise<void> {
    if (recording === null) return;
    const rateHz = this.#context.state().live.baseRateHz;
    try {
      const finding = await this.#keeper.findDelay(Comlink.transfer(recording, [recording.buffer]), loopbackProbe(rateHz), this.#burstPeak);
      this.#context.dispatch({ kind: 'loopback-told', finding, rateHz });
    } catch (error) {
      this.#fail(`The delay could not be found: ${sentenceOf(error)}.`);
    }
  }

  #fail(sentence: string): void {
    this.#context.dispatch({ kind: 'loopback-told', finding: { kind: 'failed', sentence }, rateHz: this.#context.state().live.baseRateHz });
  }
}

function stop(stream: MediaStream): void {
  for (const track of stream.getTracks()) {
    track.onended = null;
    track.stop();
  }
}
