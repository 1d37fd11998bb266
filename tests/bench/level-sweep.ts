/** Harmonics against level of the opening path by one worker: 61 levels, H2 to H10, as the page and the command line measure them. */
import { factsOf, figureViewById, subjectOfSetting } from '../../dsp/measure/figures/index.ts';
import type { FigureSubject } from '../../dsp/measure/figures/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { baseRateHz } from './circuits.ts';
import { processorNanoseconds } from './clock.ts';
import { median } from './median.ts';

export interface SweepRound {
  /** All 61 levels and the drawing. */
  readonly totalMilliseconds: number;
  readonly firstPointsMilliseconds: number;
  /** Between two yields: a cancel is heard after that at the latest. */
  readonly longestStepMilliseconds: number;
}

export interface SweepTiming extends SweepRound {
  readonly frequencyHz: number;
}

/** `cold`: the first sweep of this process, its path planned already; the others are medians, of one round for the long notes. */
export function timeLevelSweep(rounds: number): { readonly cold: SweepRound; readonly sweeps: readonly SweepTiming[] } {
  const { path, joints } = openingSetting();
  const subject = subjectOfSetting({ path, joints, baseRateHz, scope: { kind: 'path' }, programme: null });
  const cold = sweepOnce(subject, 1000);
  const sweeps = [1000, 50, 20].map((frequencyHz): SweepTiming => {
    const timed = Array.from({ length: frequencyHz < 1000 ? 1 : rounds }, () => sweepOnce(subject, frequencyHz));
    const of = (key: keyof SweepRound): number => median(timed.map((round) => round[key]));
    return { frequencyHz, totalMilliseconds: of('totalMilliseconds'), firstPointsMilliseconds: of('firstPointsMilliseconds'), longestStepMilliseconds: of('longestStepMilliseconds') };
  });
  return { cold, sweeps };
}

export function sweepOnce(subject: FigureSubject, frequencyHz: number, levels = 61): SweepRound {
  const view = figureViewById('harmonics-level')!;
  const values: StageValues = { ...Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default])), frequencyHz, levels };
  const facts = factsOf(subject);
  const began = processorNanoseconds();
  const since = (start: number): number => (processorNanoseconds() - start) / 1e6;
  let firstPointsMilliseconds: number | null = null;
  let longestStepMilliseconds = 0;
  const points = view.split(facts, values, 1).map((part: unknown): unknown => {
    const steps = view.measure(subject, values, part);
    for (;;) {
      const start = processorNanoseconds();
      const { done, value } = steps.next();
      longestStepMilliseconds = Math.max(longestStepMilliseconds, since(start));
      if (value !== undefined) firstPointsMilliseconds ??= since(began);
      if (done) return value;
    }
  });
  view.draw(facts, values, points);
  return { totalMilliseconds: since(began), firstPointsMilliseconds: firstPointsMilliseconds ?? NaN, longestStepMilliseconds };
}
