/** The loops that lie beside the page, from their list. */
import type { BenchState, LoopEntry } from './state.ts';

export interface LoopList {
  readonly loops: readonly LoopEntry[];
  /** One sentence when the list could not be read; the page then stands without loops. */
  readonly refusal: string | null;
}

/** @param baseUrl address of the page, with its slash */
export async function readLoops(baseUrl: string): Promise<LoopList> {
  try {
    const answer = await fetch(new URL('loops.json', baseUrl));
    if (!answer.ok) throw new Error(`loops.json: ${answer.status} ${answer.statusText}`);
    return { loops: parseLoops(await answer.json()), refusal: null };
  } catch (error) {
    return { loops: [], refusal: `The loops could not be read: ${(error as Error).message}. Reload the page to try again.` };
  }
}

/** @throws Error naming the entry, what was expected and what was there */
export function parseLoops(list: unknown): readonly LoopEntry[] {
  const entries: unknown = Array.isArray(list) ? list : (list as { readonly loops?: unknown } | null)?.loops;
  if (!Array.isArray(entries)) throw new Error('loops.json: expected a list of loops');
  return entries.map((entry: Partial<Record<keyof LoopEntry, unknown>> | null, index) => {
    const { identifier, title, file, channels, durationSeconds } = entry ?? {};
    if (typeof identifier !== 'string' || typeof title !== 'string' || typeof file !== 'string'
      || (channels !== 1 && channels !== 2) || !(typeof durationSeconds === 'number' && durationSeconds > 0)) {
      throw new Error(`loops.json, entry ${index + 1}: expected identifier, title, file, channels 1 or 2 and durationSeconds, got ${JSON.stringify(entry).slice(0, 120)}`);
    }
    return { identifier, title, file, channels, durationSeconds };
  });
}

/** The loop that is chosen, of the page's or the listener's own. */
export interface ChosenLoop {
  readonly title: string;
  readonly seconds: number;
  /** Of it, counted exactly where it is on the bench. */
  readonly frames: number;
  readonly rateHz: number;
}

/** Null: there is none of this name. */
export function chosenLoop({ session, live }: BenchState, loops: readonly LoopEntry[]): ChosenLoop | null {
  const entry = loops.find(({ identifier }) => identifier === session.loop);
  const own = live.material.known.find(({ id }) => id === session.loop);
  const title = entry?.title ?? own?.name;
  const seconds = entry?.durationSeconds ?? own?.seconds;
  if (title === undefined || seconds === undefined) return null;
  const rateHz = own?.rateHz ?? live.baseRateHz;
  return { title, seconds, frames: Math.round(seconds * rateHz), rateHz };
}
