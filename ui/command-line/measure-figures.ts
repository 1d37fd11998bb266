/** `measure` with a figure asked for: intermodulation, multitone or single figures of a setting, of one of its stages, or of a circuit document. */
import { availableParallelism } from 'node:os';
import { factsOf, figureViewById } from '../../dsp/measure/figures/index.ts';
import type { Options, Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptions, giveFigure } from './figure-output.ts';
import { measureParts } from './figure-parts.ts';
import { readFigureSubject } from './figure-subject.ts';
import { Progress } from './progress.ts';
import { readViewValues } from './view-values.ts';

export const measureFigureOptions = {
  ...figureOptions,
  intermodulation: { type: 'string' },
  multitone: { type: 'boolean' },
  figures: { type: 'boolean' },
  stage: { type: 'string' },
  'level-dbu': { type: 'string' },
  'highest-order': { type: 'string' },
  steps: { type: 'string' },
  recording: { type: 'string' },
  channel: { type: 'string' },
} as const satisfies Options;

/** Which options each figure understands, beside level and stage. */
const figures = {
  intermodulation: { view: 'intermodulation', understands: ['steps'] },
  multitone: { view: 'multitone', understands: [] },
  figures: { view: 'single-figures', understands: ['frequency', 'highest-order'] },
} as const satisfies Readonly<Record<string, { view: string; understands: readonly string[] }>>;

type FigureName = keyof typeof figures;

/** All options that only some figures understand. */
const particular = ['frequency', 'peak-volts', 'orders', 'through-ladder', 'highest-order', 'steps', 'channel'] as const;

/** Which figure the words ask for; null: harmonics, the documented form. @throws InputFailure where they ask for two, or mix in options of another */
export function wantedFigure(words: Words): FigureName | null {
  const wanted = (['intermodulation', 'multitone', 'figures'] as const).filter((name) => (name === 'intermodulation' ? words.text(name) !== undefined : words.flag(name)));
  if (wanted.length > 1) throw new InputFailure(`measure: expected one of --intermodulation, --multitone and --figures, got ${wanted.map((name) => `--${name}`).join(' and ')}`);
  const [name] = wanted;
  if (name === undefined) {
    const stray = ['stage', 'level-dbu', 'highest-order', 'steps', 'svg', 'channel'].find((option) => words.text(option) !== undefined);
    if (stray !== undefined) throw new InputFailure(`measure: --${stray} belongs to --${stray === 'channel' ? 'recording' : 'intermodulation, --multitone or --figures'}`);
    return null;
  }
  const understood: readonly string[] = figures[name].understands;
  const stray = particular.find((option) => !understood.includes(option) && (option === 'through-ladder' ? words.flag(option) : words.text(option) !== undefined));
  if (stray !== undefined) throw new InputFailure(`measure: --${name} does not take --${stray}`);
  return name;
}

/** Measures and prints. Exit code as for every figure. */
export async function measureFigure(name: FigureName, words: Words): Promise<number> {
  const view = figureViewById(figures[name].view)!;
  const subject = await readFigureSubject('measure', words, view.grade);
  const facts = factsOf(subject);
  const values = readViewValues(view, words, facts.path?.fullScaleDbu ?? 24, { signal: 'intermodulation', frequencyHz: 'frequency' });
  const refusal = view.refuse(facts, values);
  if (refusal !== null) throw new InputFailure(refusal);
  const progress = new Progress(view.title);
  const points = await measureParts(view, { view: view.id, subject, values }, availableParallelism(), (done) => progress.report(done)).finally(() => progress.done());
  await giveFigure(view.draw(facts, values, points), words);
  return exitCodes.good;
}
