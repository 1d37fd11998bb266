import { changeBetween, type LoggedChange, type Played, type PlayingLog } from '../../../dsp/setting/index.ts';
import type { FromProcessor, PlanRequest } from '../../../worklets/messages.ts';

/** Revisions whose paths are remembered for the log; a plan is heard of within a few. */
const rememberedRevisions = 500;

/**
 * Keeps the log of a performance: what was asked for and at which frame of the path, from its last start at frame 0 on. Rendering the log gives
 * the same samples; where it could not, there is none.
 */
export class PlayingLogKeeper {
  /** Null: a pair, of which there is no log. */
  readonly #asked = new Map<number, Played | null>();
  #changes: LoggedChange[] | null = null;
  #present: Played | null = null;

  /** What a revision stands for; before its plan can be heard of. */
  remember({ revision, path: { stages, surroundings, supply }, joints, onTrial, pair }: Pick<PlanRequest, 'revision' | 'path' | 'joints' | 'onTrial' | 'pair'>): void {
    this.#asked.delete(revision);
    this.#asked.set(revision, pair === null ? { stages, surroundings, supply, joints, onTrial } : null);
    for (const oldest of this.#asked.keys()) {
      if (this.#asked.size <= rememberedRevisions) break;
      this.#asked.delete(oldest);
    }
  }

  hear(message: FromProcessor): void {
    if (message.kind === 'began') this.#begin(message);
    else if (message.kind === 'unlogged') this.end();
    else if (message.kind === 'logged' && this.#changes) this.#add(this.#changes, message);
  }

  /** What was kept is none any more, until the path begins anew. */
  end(): void {
    this.#changes = null;
  }

  #begin(message: Extract<FromProcessor, { kind: 'began' }>): void {
    const asked = this.#asked.get(message.revision);
    this.#present = asked ?? null;
    const { trialIn, inGain, outGain, position } = message;
    this.#changes = asked && !message.tone && !message.live ? [
      { frame: 0, kind: 'path', ...asked },
      { frame: 0, kind: 'switch', trialIn },
      { frame: 0, kind: 'match', inGain, outGain },
      { frame: 0, kind: 'position', ...position },
    ] : null;
  }

  #add(changes: LoggedChange[], { frame, change }: Extract<FromProcessor, { kind: 'logged' }>): void {
    if (change.kind !== 'plan') {
      changes.push({ frame, ...change });
      return;
    }
    const asked = this.#asked.get(change.revision);
    const before = this.#present;
    if (asked === null) this.end();
    // A revision that changed nothing of the path makes no sound of its own.
    if (!asked || !before || same(asked, before)) return;
    changes.push(changeBetween(before, asked, frame));
    this.#present = asked;
  }

  /** Null when a tone, a live input, a pair or what is added plays, after blind work until the next start, or when nothing has played. */
  log(programme: string, rateHz: number, frames: number): PlayingLog | null {
    return this.#changes && frames > 0 ? { programme, rateHz, frames, changes: this.#changes.slice() } : null;
  }
}

function same(a: Played, b: Played): boolean {
  return a.stages === b.stages && a.onTrial === b.onTrial && a.joints === b.joints && a.surroundings === b.surroundings && a.supply === b.supply;
}
