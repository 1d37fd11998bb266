import type { StageValues } from '../../stages/index.ts';
import type { AnyFigureView, Figure, FigureSubject } from './contract.ts';

/** A figure by one worker, part after part; yields what can be drawn so far. Throws RangeError with the view's sentence where it refuses. */
export function* figureInSteps(view: AnyFigureView, subject: FigureSubject, values: StageValues): Generator<Figure | undefined, Figure> {
  const refusal = view.refuse(subject, values);
  if (refusal !== null) throw new RangeError(refusal);
  const parts: readonly unknown[] = view.split(subject, values, 1);
  const points: unknown[] = parts.map(() => undefined);
  for (const [index, part] of parts.entries()) {
    const steps = view.measure(subject, values, part);
    let step = steps.next();
    while (!step.done) {
      if (step.value === undefined) yield undefined;
      else {
        points[index] = step.value;
        yield view.draw(subject, values, points);
      }
      step = steps.next();
    }
    points[index] = step.value;
  }
  return view.draw(subject, values, points);
}
