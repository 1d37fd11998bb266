/** The same circuits in finer steps: for edges that the internal rate does not follow. */
import { planPath, type PathPlan } from '../../../path/index.ts';
import type { FigureSubject } from '../contract.ts';
import { subjectOfDocument } from '../subject.ts';
import { internalRateHz } from '../tone.ts';

/** What runs in the subject's plan, at `times` its internal rate; joined as there. Hundreds of milliseconds. Throws RangeError where the circuit's document is not known. */
export function finerPlan(subject: FigureSubject, times: number): PathPlan {
  const { path, plan, document, baseRateHz } = subject;
  if (path === null) {
    if (document === undefined) throw new RangeError('Finer steps: expected the circuit\'s document, got its program alone.');
    return subjectOfDocument(document, internalRateHz(subject) * times).plan;
  }
  const joined = new Set(plan.stages.flatMap(({ members }) => members.slice(1).map(({ key }) => key)));
  return planPath({ ...path, supply: null, stages: path.stages.map((stage) => ({ ...stage, joined: joined.has(stage.key) })) }, baseRateHz * times, { grade: 'measuring' });
}
