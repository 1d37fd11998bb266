// Live worker: programs for the audio thread. Nothing else runs here, so that a value turned by hand has nothing to wait for.
import * as Comlink from 'comlink';
import { PathError, planPath, type PathPlan, type PlannedProgram } from '../../dsp/path/index.ts';
import { stageRules } from '../../dsp/setting/index.ts';
import { installCompiledCode, type KeyedModule } from '../compiled-code.ts';
import type { LiveAnswer, PlanAnswer, PlanMessage, PlanRequest } from '../messages.ts';
import { ModuleCourier } from './module-courier.ts';
import { samePath } from './same-path.ts';

const rememberedPrograms = 128;
/** A plan that has played this long is trusted. */
const trustMilliseconds = 500;

/** Null: compiled code runs here. */
const loopsBecause = installCompiledCode(true);

/** What an audio node is made with, or made anew with. */
export interface NodePlan {
  readonly plan: PathPlan;
  readonly revision: number;
  readonly modules: readonly KeyedModule[];
}

class LiveBench {
  #audio: MessagePort | null = null;
  #tell: (answer: LiveAnswer) => void = () => undefined;
  #request: PlanRequest | null = null;
  #plan: PathPlan | null = null;
  /** The newest request has no plan; the last good one plays on. */
  #faulty = false;
  #planRevision = 0;
  /** What played without trouble before the newest plan. */
  #goodPlan: { readonly plan: PathPlan; readonly revision: number } | null = null;
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
    port.onmessage = ({ data }: MessageEvent<PlanAnswer>) => this.#landed(data.revision);
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
    if (!before || !samePath(before, request)) this.#faulty = !this.#build(request);
    else if (this.#plan && !this.#faulty && before.revision !== request.revision) this.#hand(this.#plan, request);
  }

  #build(request: PlanRequest): boolean {
    try {
      this.#plan = planPath(request.path, request.baseRateHz, { known: this.#programs, joints: request.joints, onTrial: request.onTrial });
    } catch (error) {
      const sentence = error instanceof Error ? error.message : String(error);
      const at = /node "([^"]+)"/.exec(sentence)?.[1] ?? /, at (\S+)/.exec(sentence)?.[1] ?? null;
      this.#tell({ kind: 'fault', revision: request.revision, stageKey: error instanceof PathError ? error.stageKey : '', sentence, at });
      return false;
    }
    for (const identity of this.#programs.keys()) {
      if (this.#programs.size <= rememberedPrograms) break;
      this.#programs.delete(identity);
    }
    this.#hand(this.#plan, request);
    return true;
  }

  #hand(plan: PathPlan, { revision, path }: PlanRequest): void {
    this.#sendPlan(plan, revision);
    this.#tell({ kind: 'built', revision, rules: stageRules(path, plan) });
  }

  #sendPlan(plan: PathPlan, revision: number): void {
    this.#planRevision = revision;
    // Also before there is a node: the press of Play shall have nothing to wait for.
    if (this.#audio) this.#audio.postMessage({ kind: 'plan', plan, revision, modules: this.#courier.take(plan) } satisfies PlanMessage);
    else this.#courier.all(plan);
  }
}

export type Live = LiveBench;
Comlink.expose(new LiveBench());
