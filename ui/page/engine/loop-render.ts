/** Renders the loop through a setting in a pool worker, watched and stoppable, into the file that the command line would write. */
import * as Comlink from 'comlink';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import { encodeWholeWav } from '../../../dsp/recording/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import type { Programme } from '../../../worklets/messages.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';

export interface RenderedLoop {
  readonly file: Uint8Array<ArrayBuffer>;
  /** Beyond full scale, written as its nearest end. */
  readonly clippedSamples: number;
}

export class LoopRender {
  /** Made at once: after loading, the page asks the network for nothing. */
  readonly #worker = new Worker(new URL('../../../worklets/workers/pool.ts', import.meta.url), { type: 'module', name: 'pool' });
  /** Also computes what else may wait. */
  readonly pool = Comlink.wrap<Pool>(this.#worker);
  #job = 0;

  /** The WAV file, encoded as the loop is; null when stopped. */
  async render(setting: Setting, programme: Programme, onProgress: (done: number) => void): Promise<RenderedLoop | null> {
    this.#job += 1;
    const { levelMatch } = setting;
    const gains = levelMatch?.onTrial === 'path' ? { inGain: decibelsToRatio(levelMatch.inGainDb), outGain: decibelsToRatio(levelMatch.outGainDb) } : null;
    const channels = await this.pool.render(
      { job: this.#job, path: setting.path, joints: setting.joints, baseRateHz: programme.rateHz, channels: programme.channels, passes: 1, ...(gains ? { gains } : {}) },
      Comlink.proxy(onProgress),
    );
    if (!channels) return null;
    const samples = { encoding: programme.encoding, channelCount: channels.length === 1 ? 1 : 2, rateHz: programme.rateHz } as const;
    const counts = { clippedSamples: 0, notNumberSamples: 0 };
    return { file: encodeWholeWav(samples, channels, counts) as Uint8Array<ArrayBuffer>, clippedSamples: counts.clippedSamples };
  }

  stop(): void {
    void this.pool.cancel(this.#job);
  }

  dispose(): void {
    this.#worker.terminate();
  }
}
