/** `why`: where the harmonics of a setting, of one of its stages, or of a circuit document come from. */
import { factsOf, figureViewById, subjectOfDocument, subjectOfSetting } from '../../dsp/measure/figures/index.ts';
import type { FigureFacts, FigureSubject } from '../../dsp/measure/figures/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { readWords } from './arguments.ts';
import type { Options, Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptions, figureOptionsHelp, giveFigure } from './figure-output.ts';
import { Progress } from './progress.ts';
import { readSubject, subjectOptions } from './subject.ts';

export const whyHelp = `why       (--setting FILE [--stage N] | --circuit FILE) [--frequency 1000] [--level-dbu 4] [--highest-order 10] [--order N] [--json|--csv] [--svg FILE]

Where every harmonic comes from. One mechanism at a time (an exponential, a crossover, a rail, a core, what a stage loads …) is taken away, the operating point and all small
signals as they were, and everything measured again: contributions in dB and phase, what cancels what, also between stages, and the interaction remainder.
Of a circuit document every part of every device is a mechanism of its own.
  --stage N          of the Nth stage by itself, at the level that reaches it in the path
  --frequency HZ     of the tone at the source
  --level-dbu L      its level
  --highest-order N  harmonics from 2 to this one
  --order N          the harmonic that --svg draws as vectors; the strongest if absent
${figureOptionsHelp}
What a mechanism does can be heard: render --without N:NAME.`;

const options = {
  ...subjectOptions, ...figureOptions, stage: { type: 'string' }, frequency: { type: 'string' }, 'level-dbu': { type: 'string' }, 'highest-order': { type: 'string' }, order: { type: 'string' },
} as const satisfies Options;

const optionOf: Readonly<Record<string, string>> = { frequencyHz: 'frequency', levelDbu: 'level-dbu', highestOrder: 'highest-order', order: 'order' };

export async function why(args: readonly string[]): Promise<number> {
  const words = readWords('why', args, options);
  const view = figureViewById('why')!;
  const values = valuesFrom(words, view.parameters);
  const subject = await subjectFrom(words);
  const refusal = view.refuse(factsOf(subject), values);
  if (refusal !== null) throw new InputFailure(refusal);
  const progress = new Progress('why');
  try {
    const [part] = view.split(subject, values, 1) as readonly { readonly items: readonly number[] }[];
    const steps = view.measure(subject, values, part) as Generator<{ readonly found: readonly unknown[] } | undefined, unknown>;
    let step = steps.next();
    while (!step.done) {
      if (step.value !== undefined) progress.report(step.value.found.length / part!.items.length);
      step = steps.next();
    }
    progress.done();
    await giveFigure(view.draw(factsOf(subject), values, [step.value]), words);
    return exitCodes.good;
  } catch (error) {
    // What is found out while measuring: a stage that oscillates, a signal that does not come out.
    if (error instanceof RangeError) throw new InputFailure(error.message);
    throw error;
  } finally {
    progress.done();
  }
}

function valuesFrom(words: Words, parameters: NonNullable<ReturnType<typeof figureViewById>>['parameters']): StageValues {
  return Object.fromEntries(parameters.map((parameter) => {
    const option = optionOf[parameter.id]!;
    if (parameter.kind === 'number') return [parameter.id, words.number(option, { minimum: parameter.minimum, maximum: parameter.maximum, otherwise: parameter.default })];
    const wanted = words.text(option) ?? parameter.default;
    if (!parameter.options.some(({ id }) => id === wanted)) throw new InputFailure(`--${option}: expected one of ${parameter.options.map(({ id }) => id).join(', ')}, got ${wanted}`);
    return [parameter.id, wanted];
  }));
}

async function subjectFrom(words: Words): Promise<FigureSubject> {
  const subject = await readSubject('why', words);
  const place = words.text('stage');
  if (subject.kind === 'circuit') {
    if (place !== undefined) throw new InputFailure('--stage: expected --setting FILE, got a circuit document, which is one stage');
    return subjectOfDocument(subject.document, subject.internalRateHz);
  }
  const { path, joints } = subject.setting;
  if (place !== undefined && path.stages.length === 0) throw new InputFailure('--stage: expected a path with stages, got one without');
  const scope: FigureFacts['scope'] = place === undefined ? { kind: 'path' } : { kind: 'stage', key: path.stages[Math.round(words.number('stage', { minimum: 1, maximum: path.stages.length })) - 1]!.key };
  return subjectOfSetting({ path, joints, baseRateHz: subject.baseRateHz, scope, programme: null });
}
