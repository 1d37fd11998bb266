import { probeJoints, type JointMemory } from '../../dsp/measure/index.ts';
import type { PathFiguresAnswer, PathFiguresRequest } from '../messages.ts';

/** What was found before, so that a change of one value costs its own stage only. */
export interface PathFiguresMemory {
  readonly joints: JointMemory;
}

/** So many entries are kept of what was found before. */
const mostKept = 256;

export function emptyFiguresMemory(): PathFiguresMemory {
  return { joints: new Map() };
}

/** Everything about a whole path that is computed once its changes have settled, in steps, each part told as it is found. */
export function* pathFigures(request: PathFiguresRequest, memory: PathFiguresMemory, tell: (answer: PathFiguresAnswer) => void): Generator<void, void> {
  const { revision, path } = request;
  const probing = probeJoints(path, memory.joints);
  let probed = probing.next();
  while (!probed.done) {
    yield;
    probed = probing.next();
  }
  tell({ kind: 'probed', revision, joints: probed.value });
  forgetOldest(memory.joints);
}

function forgetOldest(kept: Map<string, unknown>): void {
  for (const oldest of kept.keys()) {
    if (kept.size <= mostKept) break;
    kept.delete(oldest);
  }
}
