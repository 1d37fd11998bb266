/** From the music itself: what the path adds to it, by bands and along the loop. */
import type { PathPlan } from '../../path/index.ts';
import type { ChoiceParameter, NumberParameter, StageValues } from '../../stages/index.ts';
import { growingStage, loopAddedInSteps, playRound, type LinearPart, type LoopAdded } from '../loop/index.ts';
import { figureView, type FigureSubject } from './contract.ts';
import { drawLoopAdded } from './loop-added-drawing.ts';
import { planAtRate } from './plan-at-rate.ts';
import { plannedIndex, refuseScope, stageName } from './tone.ts';

const linearPart: ChoiceParameter = {
  kind: 'choice', id: 'linearPart', label: 'linear part', shortLabel: 'linear part', spokenLabel: 'linear part', default: 'moment',
  options: [{ id: 'moment', label: 'small signals, gain of the moment' }, { id: 'region', label: 'small signals, one gain' }, { id: 'small-signal', label: 'small signals alone' }],
  help: 'What counts as linear and is taken away: with the gain of the moment a passage that is merely louder or softer adds nothing; with small signals alone every change of gain is added too.',
};
const moment: NumberParameter = {
  kind: 'number', id: 'momentSeconds', label: 'length of a moment', shortLabel: 'moment', spokenLabel: 'length of a moment', quantity: 'time', unit: 's',
  minimum: 0.02, maximum: 0.05, default: 0.03, taper: 'linear', step: 0.005, help: 'Step of the strip along the loop, and of the gain of the moment.',
};
const bands: ChoiceParameter = {
  kind: 'choice', id: 'bands', label: 'bands', shortLabel: 'bands', spokenLabel: 'bands', default: 'third-octave',
  options: [{ id: 'third-octave', label: 'third octaves' }, { id: 'octave', label: 'octaves' }], help: 'Bands that the spectrum and the level difference are summed in.',
};

export interface LoopAddedPoints {
  readonly done: number;
  /** Null while it is rendered. */
  readonly found: LoopAdded | null;
}

/** Shorter regions hold no music. */
const leastSeconds = 0.1;
const progressSteps = 50;

export const loopAddedView = figureView<null, LoopAddedPoints>({
  id: 'loop-added',
  title: 'What the path adds to the music',
  help: 'From the loop itself: what comes out that no linear filter makes of it, by bands and along the loop, so that the moments at which a stage acts can be looped.',
  parameters: [linearPart, bands, moment],
  needs: 'programme',
  grade: 'listening',
  refuse(facts) {
    const { programme } = facts;
    if (programme === null) return 'What the path adds to the music: expected a loop, got none; choose one.';
    if (programme.frames < leastSeconds * programme.rateHz) return `What the path adds to the music: expected at least ${leastSeconds} s of the loop, got ${(programme.frames / programme.rateHz).toFixed(3)} s.`;
    return refuseScope(facts);
  },
  split: () => [null],
  * measure(subject, values) {
    const { channels } = subject.programme!;
    const { plan, before } = scoped(subject);
    const growing = growingStage(plan) ?? (before === null ? null : growingStage(before));
    if (growing !== null) throw new RangeError(`${stageName(subject, growing.key)} oscillates or is bistable: what it puts out is not the music's.`);
    let loop = channels;
    if (before !== null) {
      const rounds = playRound(before, channels);
      let step = rounds.next();
      while (!step.done) {
        yield undefined;
        step = rounds.next();
      }
      loop = step.value.channels;
    }
    const steps = loopAddedInSteps(plan, loop, { linearPart: values['linearPart'] as LinearPart, momentSeconds: values['momentSeconds'] as number, bands: values['bands'] as 'third-octave' | 'octave' });
    let told = 0;
    let step = steps.next();
    while (!step.done) {
      const done = Math.floor(progressSteps * step.value) / progressSteps;
      yield done > told ? { done, found: null } : undefined;
      told = Math.max(told, done);
      step = steps.next();
    }
    return { done: 1, found: step.value };
  },
  draw: (facts, values: StageValues, [points]) => drawLoopAdded(facts, values, points),
});

/** What is measured, at the loop's rate, and what stands before it: a stage alone hears what the path makes of the loop before it. */
function scoped(subject: FigureSubject): { readonly plan: PathPlan; readonly before: PathPlan | null } {
  const plan = planAtRate(subject.plan, subject.programme!.rateHz);
  const index = plannedIndex(subject);
  if (index < 0) return { plan, before: null };
  return { plan: { ...plan, stages: plan.stages.slice(index, index + 1) }, before: index === 0 ? null : { ...plan, stages: plan.stages.slice(0, index) } };
}
