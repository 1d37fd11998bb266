/** `sweep`: any figure of the bench in a terminal; its options are the figure's own table of parameters. */
import { factsOf, figureViewById, figureViews } from '../../dsp/measure/figures/index.ts';
import type { AnyFigureView } from '../../dsp/measure/figures/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptions, figureOptionsHelp, giveFigure } from './figure-output.ts';
import { measureParts } from './figure-parts.ts';
import { figureSubjectOptions, readFigureSubject } from './figure-subject.ts';
import { Progress } from './progress.ts';
import { optionOf, readViewValues, written } from './view-values.ts';

const commonOptions = { ...figureSubjectOptions, ...figureOptions, workers: { type: 'string' } } as const satisfies Options;

export const sweepHelp = `sweep     VIEW (--setting FILE [--stage N] | --circuit FILE) [--in LOOP.wav] [--json|--csv] [--svg FILE]

Measures a figure: its tables, its sentence and what is to be said about it. Nothing but steady states and exact responses unless the figure says so.
VIEW is one of
${figureViews.map(({ id, title, needs }) => `  ${id.padEnd(20)}  ${title}${needs ? ' (needs --in)' : ''}`).join('\n')}
stagebench sweep VIEW --help lists what can be asked of it.
  --stage N      of the Nth stage by itself, at the level that reaches it in the path
  --in LOOP.wav  the music, for figures of it
  --rate HZ, --oversampling N  another rate than the setting's; of a circuit document 48000 and 8 if absent
  --workers N    how many threads; if absent as many as the machine runs at once, where that is worth it. The figures do not depend on it
${figureOptionsHelp}`;

/** Help of one figure, or of all. */
export function sweepHelpFor(args: readonly string[]): string {
  const view = args.map(figureViewById).find((found) => found !== undefined);
  if (view === undefined) return sweepHelp;
  const lines = view.parameters.map((parameter) => {
    const range = parameter.kind === 'choice'
      ? `${parameter.options.map(({ id }) => id).join(', ')}; ${parameter.default} if absent`
      : `${written(parameter, parameter.minimum)} to ${written(parameter, parameter.maximum)}; ${written(parameter, parameter.default)} if absent`;
    return `  --${optionOf(parameter).padEnd(18)}  ${parameter.label} (${range}). ${parameter.help}`;
  });
  return [`sweep ${view.id} (--setting FILE [--stage N] | --circuit FILE)${view.needs ? ' --in LOOP.wav' : ''} [--json|--csv] [--svg FILE]`, '', view.help, ...lines, '', 'stagebench sweep --help lists the other options and figures.'].join('\n');
}

export async function sweep(args: readonly string[]): Promise<number> {
  const view = viewOf(args);
  const options: Options = { ...commonOptions, ...Object.fromEntries(view.parameters.map((parameter) => [optionOf(parameter), { type: 'string' as const }])) };
  const words = readWords('sweep', args, options, 1);
  if (words.flag('json') && words.flag('csv')) throw new InputFailure('expected --json or --csv, got both');
  const workers = words.text('workers') === undefined ? null : Math.round(words.number('workers', { minimum: 1, maximum: 64 }));
  if (view.needs === 'programme' || view.live) words.required('in');
  const subject = await readFigureSubject('sweep', words, view.grade);
  const facts = factsOf(subject);
  const values = readViewValues(view, words, facts.path?.fullScaleDbu ?? 24);
  const refusal = view.refuse(facts, values);
  if (refusal !== null) throw new InputFailure(refusal);
  const progress = new Progress(view.title);
  const points = await measureParts(view, { view: view.id, subject, values }, workers, (done) => progress.report(done)).finally(() => progress.done());
  await giveFigure(view.draw(facts, values, points), words);
  return exitCodes.good;
}

function viewOf(args: readonly string[]): AnyFigureView {
  const [name] = args;
  const known = figureViews.map(({ id }) => id).join(', ');
  if (name === undefined || name.startsWith('-')) throw new InputFailure(`sweep: expected the figure's name first, one of ${known}; see stagebench sweep --help`);
  const view = figureViewById(name);
  if (view === undefined) throw new InputFailure(`sweep: expected one of ${known}, got ${name}`);
  return view;
}
