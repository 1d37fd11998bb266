// Live worker: programs for the audio thread. Nothing else runs here, so that a value turned by hand has nothing to wait for.
import * as Comlink from 'comlink';
import { pairOf, PathError, planPath, type PathPlan, type PlannedProgram, type TrialPlan } from '../../dsp/path/index.ts';
import { stageRules } from '../../dsp/setting/index.ts';
import { installCompiledCode, type KeyedModule } from '../compiled-code.ts';
import type { LiveAnswer, PairSide, PlanAnswer, PlanMessage, PlanRequest } from '../messages.ts';
import { ModuleCourier } from './module-courier.ts';
import { samePath } from './same-path.ts';

const rememberedPrograms = 128;
/** A plan that has played this long is trusted. */
const trustMilliseconds = 500;

/** Null: compiled code runs here. */
const loopsBecause = installCompiledCode(true);

/** What an audio node is made with, or made anew with. */
export interface NodePlan {
  readonly plan: TrialPlan;
  readonly revision: number;
  readonly modules: readonly KeyedModule[];
}

class LiveBench {
  #audio: MessagePort | null = null;
  #tell: (answer: LiveAnswer) => void = () => undefined;
  #request: PlanRequest | null = null;
  /** What is heard; and the path on the bench, of which its rules are told. */
  #plan: TrialPlan | null = null;
  #bench: PathPlan | null = null;
  /** The newest request has no plan; the last good one plays on. */
  #faulty = false;
  #planRevision = 0;
  /** What played without trouble before the newest plan. */
  #goodPlan: { readonly plan: TrialPlan; readonly revision: number } | null = null;
  readonly #courier = new ModuleCourier();
  readonly #programs = new Map<string, PlannedProgram>();

  listen(tell: (answer: LiveAnswer) => void): void {
    this.#tell = tell;
  }

  /** Why this engine runs the readable loops; null: it runs compiled code. */
  loopsBecause(): string | null {
    return loopsBecause;
  }

  /** The way to the audio thread; the newest plan goes there at once. */
  connect(port: MessagePort): void {
    this.#audio?.close();
    this.#audio = port;
    this.#courier.forget();
    port.onmessage = ({ data }: MessageEvent<PlanAnswer>) => {
      if (data.kind === 'landed') this.#landed(data.revision);
      else this.#sendAsBytes();
    };
    if (this.#plan) this.#sendPlan(this.#plan, this.#planRevision);
  }

  /** The newest plan that could be built, with its revision. */
  newestPlan(): NodePlan | null {
    return this.#plan ? { plan: this.#plan, revision: this.#planRevision, modules: this.#courier.all(this.#plan) } : null;
  }

  /** After a fault of the audio thread: what had played for a while before it. */
  lastGoodPlan(): NodePlan | null {
    return this.#goodPlan ? { ...this.#goodPlan, modules: this.#courier.all(this.#goodPlan.plan) } : this.newestPlan();
  }

  /** What was sent last did not arrive: once more, in a form that does. */
  #sendAsBytes(): void {
    this.#courier.sendBytes();
    if (this.#plan) this.#sendPlan(this.#plan, this.#planRevision);
  }

  #landed(revision: number): void {
    const plan = this.#plan;
    if (!plan || revision !== this.#planRevision) return;
    setTimeout(() => {
      if (this.#plan === plan) this.#goodPlan = { plan, revision };
    }, trustMilliseconds);
  }

  /** The plan for the page's newest state; what has not changed is not made again. */
  request(request: PlanRequest): void {
    const before = this.#request;
    this.#request = request;
    // What played at another rate cannot be built anew.
    if (before?.baseRateHz !== request.baseRateHz) this.#goodPlan = null;
    if (!before || !samePath(before, request)) this.#faulty = !this.#build(request);
    else if (this.#plan && !this.#faulty && before.revision !== request.revision) this.#hand(this.#plan, request);
  }

  /** Whether all of it could be built. Of a pair without the path on the bench, the bench's own fault silences nothing. */
  #build(request: PlanRequest): boolean {
    const { pair } = request;
    const bench = this.#planned(request, request);
    const sides = pair?.map((side) => (side.path === request.path ? bench : this.#planned(side, request)));
    this.#bench = bench;
    const [first = null, second = null] = sides ?? [];
    const heard = pair === null ? bench : first && second && pairOf(first, second);
    if (heard === null) return false;
    for (const identity of this.#programs.keys()) {
      if (this.#programs.size <= rememberedPrograms) break;
      this.#programs.delete(identity);
    }
    this.#plan = heard;
    this.#hand(heard, request);
    return bench !== null;
  }

  /** Null where it cannot be planned, which is told. */
  #planned({ path, joints }: PairSide, { revision, baseRateHz, onTrial }: PlanRequest): PathPlan | null {
    try {
      return planPath(path, baseRateHz, { known: this.#programs, joints, onTrial });
    } catch (error) {
      const sentence = error instanceof Error ? error.message : String(error);
      const at = /node "([^"]+)"/.exec(sentence)?.[1] ?? /, at (\S+)/.exec(sentence)?.[1] ?? null;
      this.#tell({ kind: 'fault', revision, stageKey: error instanceof PathError ? error.stageKey : '', sentence, at });
      return null;
    }
  }

  #hand(plan: TrialPlan, { revision, path }: PlanRequest): void {
    this.#sendPlan(plan, revision);
    if (this.#bench !== null) this.#tell({ kind: 'built', revision, rules: stageRules(path, this.#bench) });
  }

  #sendPlan(plan: TrialPlan, revision: number): void {
    this.#planRevision = revision;
    // Also before there is a node: the press of Play shall have nothing to wait for.
    if (this.#audio) this.#audio.postMessage({ kind: 'plan', plan, revision, modules: this.#courier.take(plan) } satisfies PlanMessage);
    else this.#courier.all(plan);
  }
}

export type Live = LiveBench;
Comlink.expose(new LiveBench());
