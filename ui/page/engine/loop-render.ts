/** Renders the loop through a setting in a pool worker, watched and stoppable, into the file that the command line would write. */
import * as Comlink from 'comlink';
import { fileStem } from '../../documents/file-stem.ts';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import { encodeWholeWav } from '../../../dsp/recording/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import type { Programme } from '../../../worklets/messages.ts';
import { download } from '../download.ts';
import { timeWords } from '../region-words.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState, ProgrammeFacts } from '../state.ts';
import type { EngineContext, EnginePart } from './contract.ts';

interface RenderedLoop {
  readonly file: Uint8Array<ArrayBuffer>;
  /** Beyond full scale, written as its nearest end. */
  readonly clippedSamples: number;
}

export class LoopRender implements EnginePart {
  readonly #context: EngineContext;
  /** Of the newest wish, until it is stopped; what an older one brings is not handed over. 0: none. */
  #job = 0;

  constructor(context: EngineContext) {
    this.#context = context;
  }

  follow(before: BenchState, after: BenchState, _action: Action): void {
    if (after.live.rendering !== null && before.live.rendering === null) {
      this.#job = this.#context.newJob();
      void this.#hand(after, this.#job);
    }
    if (after.live.rendering === null && before.live.rendering !== null) {
      void this.#context.pool.cancel(this.#job);
      this.#job = 0;
    }
  }

  async #hand({ setting, session, live }: BenchState, job: number): Promise<void> {
    const { dispatch } = this.#context;
    try {
      const programme = this.#context.programme();
      if (!programme) throw new Error('the loop is not loaded yet');
      const rendered = await this.#render(setting, programme, job, (done) => { if (job === this.#job) dispatch({ kind: 'rendering', done }); });
      if (!rendered || job !== this.#job) return;
      const { file, clippedSamples } = rendered;
      const own = live.programme?.origin === 'own' ? live.programme : null;
      const name = `${own ? fileStem(own.title.replace(/\.\w+$/, '')) : session.loop}-through-${fileStem(setting.title)}.wav`;
      download(file, name, 'audio/wav');
      dispatch({ kind: 'message', text: `Rendered${own ? renderedPart(own) : ''} as ${name}${clippedSamples > 0 ? `; ${clippedSamples} samples beyond full scale are clipped` : ''}`, urgent: false });
    } catch (error) {
      if (job === this.#job) dispatch({ kind: 'message', text: `Not rendered: ${sentenceOf(error)}.`, urgent: true });
    } finally {
      if (job === this.#job) dispatch({ kind: 'rendering', done: null });
    }
  }

  /** The WAV file, encoded as the loop is; null when stopped. */
  async #render(setting: Setting, programme: Programme, job: number, onProgress: (done: number) => void): Promise<RenderedLoop | null> {
    const { levelMatch } = setting;
    const gains = levelMatch?.onTrial === 'path' ? { inGain: decibelsToRatio(levelMatch.inGainDb), outGain: decibelsToRatio(levelMatch.outGainDb) } : null;
    const channels = await this.#context.pool.render(
      { job, path: setting.path, joints: setting.joints, baseRateHz: programme.rateHz, channels: programme.channels, passes: 1, ...(gains ? { gains } : {}) },
      Comlink.proxy(onProgress),
    );
    if (!channels) return null;
    const samples = { encoding: programme.encoding, channelCount: channels.length === 1 ? 1 : 2, rateHz: programme.rateHz } as const;
    const counts = { clippedSamples: 0, notNumberSamples: 0 };
    return { file: encodeWholeWav(samples, channels, counts) as Uint8Array<ArrayBuffer>, clippedSamples: counts.clippedSamples };
  }
}

/** What of a file was rendered, where that is not all of it as recorded. */
function renderedPart({ onBench: { startFrame, endFrame }, frames, rateHz, trimDb }: ProgrammeFacts): string {
  const part = endFrame - startFrame < frames ? `, ${timeWords(startFrame / rateHz, 0)} to ${timeWords(endFrame / rateHz, 0)} of it,` : '';
  return `${part}${trimDb < 0 ? `${part === '' ? ',' : ''} lowered by ${(-trimDb).toFixed(1)} dB before the path,` : ''}`;
}
