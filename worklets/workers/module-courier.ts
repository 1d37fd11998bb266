import { kernelModules, PathRunner, staticModules, type CodeModule, type TrialPlan } from '../../dsp/path/index.ts';
import { moduleOf } from '../../dsp/webassembly/index.ts';
import type { KeyedModule, SentModule } from '../compiled-code.ts';
import { Warming } from '../warming.ts';

/** So many modules are taken for kept at the other end, which keeps 256 and drops what it was given longest ago. */
const mostKept = 128;
const warmingFrames = 128;

/** Compiles off the audio thread, warms up what is new, and sends each module to the audio node once. */
export class ModuleCourier {
  readonly #kept = new Set<string>();
  readonly #warm = new Set<string>();
  #asBytes = false;

  readonly #needsOf: (plan: TrialPlan) => readonly CodeModule[];

  constructor(needsOf: (plan: TrialPlan) => readonly CodeModule[] = (plan) => [...staticModules(), ...kernelModules(plan)]) {
    this.#needsOf = needsOf;
  }

  /** All modules of a plan, warmed up; empty where this engine compiles nothing. */
  all(plan: TrialPlan): KeyedModule[] {
    const modules = this.#needsOf(plan).flatMap(({ key, emit }) => {
      const module = moduleOf(key, emit);
      return module === null ? [] : [{ key, module }];
    });
    if (modules.some(({ key }) => !this.#warm.has(key))) this.#warmUp(plan);
    for (const { key } of modules) this.#warm.add(key);
    return modules;
  }

  /** Another node listens: it has nothing yet. */
  forget(): void {
    this.#kept.clear();
  }

  /** The node has had nothing of what was sent, and gets bytes from now on, to compile them itself. */
  sendBytes(): void {
    this.#asBytes = true;
    this.forget();
  }

  /** Those that the node has not had; they count as had from now on. */
  take(plan: TrialPlan): SentModule[] {
    const modules = this.all(plan);
    if (this.#kept.size + modules.length > mostKept) this.forget();
    const news = modules.filter(({ key }) => !this.#kept.has(key));
    for (const { key } of news) this.#kept.add(key);
    if (!this.#asBytes) return news;
    const bytesOf = new Map(this.#needsOf(plan).map(({ key, emit }) => [key, emit]));
    return news.map(({ key }) => ({ key, bytes: bytesOf.get(key)!() }));
  }

  /** In stereo: both lanes. A fresh module's first block takes five times as long as its hundredth, and more than a block lasts. */
  #warmUp(plan: TrialPlan): void {
    const runner = new PathRunner(plan, 2, warmingFrames);
    const warming = new Warming(runner);
    const blocks = [new Float64Array(warmingFrames), new Float64Array(warmingFrames)];
    while (!warming.done) warming.run(runner, blocks, blocks, warmingFrames);
  }
}
