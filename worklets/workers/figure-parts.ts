import type { Grade } from '../../dsp/circuit/index.ts';
import { figureViewById, subjectOfSetting } from '../../dsp/measure/figures/index.ts';
import type { FigureProgramme, FigureSubject } from '../../dsp/measure/figures/index.ts';
import { planPath, type PlannedProgram } from '../../dsp/path/index.ts';
import type { FigureLoop, FigurePartRequest } from '../messages.ts';
import { knowBefore } from './live-measurement.ts';

/** What a worker keeps from one part to the next: a path is planned once, and of its programs only those that changed are made. */
export interface FigureMemory {
  readonly programs: Map<string, PlannedProgram>;
  /** By path, joints, rate and grade, the oldest first. */
  readonly subjects: Map<string, FigureSubject>;
  loop: FigureLoop | null;
}

const mostPrograms = 256;
const mostSubjects = 4;

export function emptyFigureMemory(): FigureMemory {
  return { programs: new Map(), subjects: new Map(), loop: null };
}

/** One part of a figure, in steps of a few milliseconds: the plan of the path, where it is new, then what the view measures. Throws RangeError, PathError or CircuitError with a sentence. */
export function* figurePart(request: FigurePartRequest, memory: FigureMemory): Generator<unknown, unknown> {
  const view = figureViewById(request.view);
  if (!view) throw new RangeError(`There is no figure "${request.view}".`);
  const programme = view.needs === 'programme' ? regionOf(request, memory.loop) : null;
  if (view.needs === 'programme' && programme === null) throw new RangeError(`${view.title}: the loop is not loaded yet.`);
  const subject = yield* subjectInSteps(request, view.grade ?? 'measuring', memory);
  return yield* view.measure({ ...subject, scope: request.scope, programme }, request.values, request.part);
}

function* subjectInSteps({ path, joints, baseRateHz, scope }: FigurePartRequest, grade: Grade, { programs, subjects }: FigureMemory): Generator<undefined, FigureSubject> {
  const silent = { ...path, supply: null };
  const identity = JSON.stringify([silent, joints, baseRateHz, grade]);
  const found = subjects.get(identity);
  subjects.delete(identity);
  if (found) {
    subjects.set(identity, found);
    return { ...found, path };
  }
  for (const _ of knowBefore(silent, joints, (part) => planPath(part, baseRateHz, { known: programs, joints, grade }))) yield undefined;
  const made = subjectOfSetting({ path, joints, baseRateHz, scope, programme: null, grade, known: programs });
  subjects.set(identity, made);
  forgetOldest(subjects, mostSubjects);
  forgetOldest(programs, mostPrograms);
  return made;
}

/** What is asked of the loop, without a copy of its samples. */
function regionOf({ programme }: FigurePartRequest, loop: FigureLoop | null): (FigureProgramme & { readonly frames: number }) | null {
  if (programme === null || loop === null || loop.serial !== programme.serial) return null;
  const { startFrame, endFrame } = programme;
  const channels = loop.channels.map((channel) => channel.subarray(startFrame, endFrame));
  return { title: loop.title, rateHz: loop.rateHz, channels, startSeconds: startFrame / loop.rateHz, frames: channels[0]?.length ?? 0 };
}

function forgetOldest(kept: Map<string, unknown>, most: number): void {
  for (const oldest of kept.keys()) {
    if (kept.size <= most) break;
    kept.delete(oldest);
  }
}
