/** The spectrum of what plays: taps the audio thread while it is wanted, and has a worker of its own tell it. */
import * as Comlink from 'comlink';
import { spectrumSettings } from '../../../dsp/measure/figures/index.ts';
import type { SpectrumPoints } from '../../../dsp/measure/index.ts';
import type { StageValues } from '../../../dsp/stages/index.ts';
import type { TapPlace, ToProcessor } from '../../../worklets/messages.ts';
import { sampleRingBytes } from '../../../worklets/sample-ring.ts';
import type { Spectrum } from '../../../worklets/workers/spectrum.ts';

/** What of an audio graph is needed here. */
export interface TappedGraph {
  send(message: ToProcessor, transfer?: Transferable[]): void;
}

export interface SpectrumFeedOptions {
  /** Of what plays now. */
  rateHz(): number;
  /** Spectra a second, at most 30; fewer where motion is not wanted. */
  perSecond(): number;
}

export class SpectrumFeed {
  readonly #options: SpectrumFeedOptions;
  /** Made at once: after loading, the page asks the network for nothing. */
  readonly #worker = new Worker(new URL('../../../worklets/workers/spectrum.ts', import.meta.url), { type: 'module', name: 'spectrum' });
  readonly #spectrum = Comlink.wrap<Spectrum>(this.#worker);
  #graph: TappedGraph | null = null;
  #place: TapPlace | null = null;
  /** Of the newest start: what an older one still tells is not heard. */
  #serial = 0;

  constructor(options: SpectrumFeedOptions) {
    this.#options = options;
  }

  /** There is another node; null: none. What was wanted goes on from there. */
  attach(graph: TappedGraph | null): void {
    this.#graph = graph;
    if (this.#place !== null) this.#connect(this.#place);
  }

  /** Values are those of the view `spectrum`. `tell` hears of the spectrum until it is stopped or started anew. */
  start(values: StageValues, tell: (points: SpectrumPoints) => void): void {
    const place: TapPlace = values['tapped'] === 'input' ? 'input' : 'output';
    this.#serial += 1;
    const serial = this.#serial;
    if (place !== this.#place) this.#connect(place);
    this.#place = place;
    const { rateHz, size, window, averaging, averages } = spectrumSettings(values, this.#options.rateHz(), 1);
    void this.#spectrum.start({ rateHz, size, window, averaging, averages }, this.#options.perSecond(), Comlink.proxy((points: SpectrumPoints) => {
      if (serial === this.#serial) tell(points);
    }));
  }

  /** Nothing is tapped any more, and nothing told. */
  stop(): void {
    if (this.#place === null) return;
    this.#place = null;
    this.#serial += 1;
    this.#graph?.send({ kind: 'tap', tap: null });
    void this.#spectrum.stop();
  }

  dispose(): void {
    this.stop();
    this.#worker.terminate();
  }

  #connect(place: TapPlace): void {
    if (this.#graph === null) return;
    if (globalThis.crossOriginIsolated) {
      const ring = new SharedArrayBuffer(sampleRingBytes);
      void this.#spectrum.connect({ ring, port: null });
      this.#graph.send({ kind: 'tap', tap: { place, ring, port: null } });
    } else {
      const { port1, port2 } = new MessageChannel();
      void this.#spectrum.connect(Comlink.transfer({ ring: null, port: port2 }, [port2]));
      this.#graph.send({ kind: 'tap', tap: { place, ring: null, port: port1 } }, [port1]);
    }
  }
}
