import { moduleOf } from '../../dsp/webassembly/index.ts';
import type { KeyedModule } from '../compiled-code.ts';

/** What a plan needs compiled: a name and, for where it is not compiled yet, the bytes. */
export interface ModuleNeed {
  readonly key: string;
  readonly emit: () => Uint8Array<ArrayBuffer>;
}

/** So many modules are taken for kept at the other end, which keeps 256 and drops what it was given longest ago. */
const mostKept = 128;

/** Compiles off the audio thread, and sends each module to the audio node once. */
export class ModuleCourier {
  readonly #kept = new Set<string>();

  /** All that the needs name; empty where this engine compiles nothing. */
  static all(needs: readonly ModuleNeed[]): KeyedModule[] {
    return needs.flatMap(({ key, emit }) => {
      const module = moduleOf(key, emit);
      return module === null ? [] : [{ key, module }];
    });
  }

  /** Another node listens: it has nothing yet. */
  forget(): void {
    this.#kept.clear();
  }

  /** Those of the needs that the node has not had; they count as had from now on. */
  take(needs: readonly ModuleNeed[]): KeyedModule[] {
    if (this.#kept.size + needs.length > mostKept) this.forget();
    const news = ModuleCourier.all(needs.filter(({ key }) => !this.#kept.has(key)));
    for (const { key } of news) this.#kept.add(key);
    return news;
  }
}
