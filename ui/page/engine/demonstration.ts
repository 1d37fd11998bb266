/** Renders both ways of what is on trial in a pool worker, watched and stoppable, and hands them over as one page. */
import * as Comlink from 'comlink';
import { fileStem } from '../../documents/file-stem.ts';
import { download } from '../download.ts';
import { localDay } from '../local-minute.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { EngineContext, EnginePart } from './contract.ts';

type Wish = Extract<Action, { readonly kind: 'demonstrate' }>;

/** Fetched with the late surfaces, so that this never goes to the network. */
const fileMaker = () => import('./demonstration-file.ts');

export class Demonstration implements EnginePart {
  readonly #context: EngineContext;
  /** Of the newest wish, until it is stopped; what an older one brings is not handed over. 0: none. */
  #job = 0;

  constructor(context: EngineContext) {
    this.#context = context;
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const done = after.live.demonstration.done;
    if (action.kind === 'demonstrate' && done !== null && before.live.demonstration.done === null) {
      this.#job = this.#context.newJob();
      void this.#hand(after, action, this.#job);
    }
    if (done === null && before.live.demonstration.done !== null) {
      void this.#context.pool.cancel(this.#job);
      this.#job = 0;
    }
    if (action.kind === 'suggest-words') void this.#suggest(after);
  }

  async #suggest(state: BenchState): Promise<void> {
    const { dispatch } = this.#context;
    try {
      const { defaultWords } = await fileMaker();
      const harmonics = await this.#harmonics(state);
      dispatch({ kind: 'words-suggested', words: defaultWords(state.setting, state.session.onTrial, harmonics) });
    } catch (error) {
      dispatch({ kind: 'message', text: `No words were made: ${sentenceOf(error)}.`, urgent: true });
    }
  }

  async #hand(state: BenchState, wish: Wish, job: number): Promise<void> {
    const { dispatch } = this.#context;
    try {
      const made = await this.#make(state, wish, job);
      if (!made || job !== this.#job) return;
      const { text, bits, seconds } = made;
      const name = `${fileStem(wish.title)}.html`;
      download(text, name, 'text/html');
      dispatch({ kind: 'message', text: `Made ${name}: ${(text.length / 1e6).toFixed(1)} MB, ${seconds.toFixed(1)} s both ways, ${bits} bits`, urgent: false });
    } catch (error) {
      if (job === this.#job) dispatch({ kind: 'message', text: `No demonstration was made: ${sentenceOf(error)}.`, urgent: true });
    } finally {
      if (job === this.#job) dispatch({ kind: 'demonstration-done', done: null });
    }
  }

  /** Null when stopped. */
  async #make(state: BenchState, { title, words, blindTrials }: Wish, job: number) {
    const { dispatch, pool } = this.#context;
    const { setting, session, live } = state;
    if (session.pair !== null) throw new Error('a pair is on trial; put the path or a stage on trial instead');
    if (live.input.sounding) throw new Error('what comes in live goes by; choose a loop or a file');
    const programme = this.#context.programme();
    if (!programme || !live.programme) throw new Error('the loop is not loaded yet');
    const { demonstrationFile, refuseLength } = await fileMaker();
    if (job !== this.#job) return null;
    const { rateHz, firstFrame } = programme;
    const { frames } = live.programme;
    const startFrame = session.region ? Math.round(session.region.startSeconds * rateHz) : 0;
    const endFrame = session.region ? Math.min(frames, Math.round(session.region.endSeconds * rateHz)) : frames;
    const seconds = (endFrame - startFrame) / rateHz;
    const refusal = refuseLength(seconds);
    if (refusal !== null) throw new Error(refusal);
    // Of a long recording a stretch is in memory, the one that plays.
    const channels = programme.channels.map((channel) => channel.slice(Math.max(0, startFrame - firstFrame), Math.max(0, endFrame - firstFrame)));
    if (channels[0]!.length !== endFrame - startFrame) throw new Error('this region is not in memory yet: move the position into it first');
    const ways = await pool.bothWays(
      { job, path: setting.path, joints: setting.joints, baseRateHz: rateHz, onTrial: session.onTrial, channels },
      Comlink.proxy((done: number) => { if (job === this.#job) dispatch({ kind: 'demonstration-done', done }); }),
    );
    if (!ways) return null;
    if (ways.kind === 'cannot-match') throw new Error(ways.sentence);
    const harmonics = await this.#harmonics(state);
    const content = { title, words, date: localDay(), setting, onTrial: session.onTrial, programme: { title: live.programme.title, region: session.region }, harmonics, blindTrials };
    return { ...demonstrationFile(content, ways, rateHz), seconds };
  }

  #harmonics({ setting: { path, joints }, session: { onTrial, probe }, live }: BenchState) {
    return this.#context.pool.trialHarmonics({ path, joints, baseRateHz: live.baseRateHz, onTrial, ...probe });
  }
}
