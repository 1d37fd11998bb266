/** `measure` with a figure asked for: intermodulation, multitone or single figures of a setting, of one of its stages, or of a circuit document. */
import { factsOf, figureInSteps, figureViewById, subjectOfDocument, subjectOfSetting } from '../../dsp/measure/figures/index.ts';
import type { AnyFigureView, FigureFacts, FigureSubject } from '../../dsp/measure/figures/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import type { Options, Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptions, giveFigure } from './figure-output.ts';
import type { Subject } from './subject.ts';

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

/** Which options each figure understands, by the parameter they set. */
const figures = {
  intermodulation: { view: 'intermodulation', options: { 'level-dbu': 'levelDbu', steps: 'steps' } },
  multitone: { view: 'multitone', options: { 'level-dbu': 'levelDbu' } },
  figures: { view: 'single-figures', options: { 'level-dbu': 'levelDbu', frequency: 'frequencyHz', 'highest-order': 'highestOrder' } },
} as const satisfies Readonly<Record<string, { view: string; options: Readonly<Record<string, string>> }>>;

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
  const understood: readonly string[] = Object.keys(figures[name].options);
  const stray = particular.find((option) => !understood.includes(option) && (option === 'through-ladder' ? words.flag(option) : words.text(option) !== undefined));
  if (stray !== undefined) throw new InputFailure(`measure: --${name} does not take --${stray}`);
  return name;
}

/** Measures and prints. Exit code as for every figure. */
export async function measureFigure(name: FigureName, subject: Subject, words: Words): Promise<number> {
  const view = figureViewById(figures[name].view)!;
  const values = valuesOf(view, name, words);
  try {
    const measured = subjectFor(subject, words.text('stage'));
    const refusal = view.refuse(factsOf(measured), values);
    if (refusal !== null) throw new InputFailure(refusal);
    const steps = figureInSteps(view, measured, values);
    let step = steps.next();
    while (!step.done) step = steps.next();
    await giveFigure(step.value, words);
    return exitCodes.good;
  } catch (error) {
    // What a view finds out while measuring: a stage that oscillates, a signal that does not come out.
    if (error instanceof RangeError) throw new InputFailure(error.message);
    throw error;
  }
}

function valuesOf(view: AnyFigureView, name: FigureName, words: Words): StageValues {
  const values: Record<string, number | string> = Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default]));
  const byId = new Map(view.parameters.map((parameter) => [parameter.id, parameter]));
  for (const [option, id] of Object.entries(figures[name].options)) {
    const parameter = byId.get(id)!;
    if (parameter.kind === 'number') values[id] = words.number(option, { minimum: parameter.minimum, maximum: parameter.maximum, otherwise: parameter.default });
  }
  for (const [option, id] of [['intermodulation', 'signal'], ['steps', 'steps']] as const) {
    const parameter = byId.get(id);
    const wanted = words.text(option);
    if (parameter?.kind !== 'choice' || wanted === undefined) continue;
    if (!parameter.options.some((known) => known.id === wanted)) throw new InputFailure(`--${option}: expected one of ${parameter.options.map((known) => known.id).join(', ')}, got ${wanted}`);
    values[id] = wanted;
  }
  return values;
}

function subjectFor(subject: Subject, stageKey: string | undefined): FigureSubject {
  if (subject.kind === 'circuit') {
    if (stageKey !== undefined) throw new InputFailure('--stage: expected --setting FILE, got a circuit document, which is one stage');
    return subjectOfDocument(subject.document, subject.internalRateHz);
  }
  const { path, joints } = subject.setting;
  const keys = path.stages.map(({ key }) => key);
  if (stageKey !== undefined && !keys.includes(stageKey)) throw new InputFailure(`--stage: expected one of ${keys.join(', ')}, got ${stageKey}`);
  const scope: FigureFacts['scope'] = stageKey === undefined ? { kind: 'path' } : { kind: 'stage', key: stageKey };
  return subjectOfSetting({ path, joints, baseRateHz: subject.baseRateHz, scope, programme: null });
}
