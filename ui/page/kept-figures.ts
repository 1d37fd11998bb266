/** Figures that were kept: each with the setting it was measured of, and a name made of what differs between that setting and the present one. Pure. */
import type { PathSetting, PathStage } from '../../dsp/path/index.ts';
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import type { Parameter, StageValues } from '../../dsp/stages/index.ts';
import { headingOf, writeValue } from './elements/value-words.ts';
import { isSheetKey, sheetKeys, sheets } from './sheets.ts';
import { stageName } from './tell.ts';
import type { BenchState, KeptFigure } from './state.ts';

/** So many are kept of each view. */
export const mostKept = 6;

/** What a figure is measured of as things stand: a sheet open instead of a stage stands for the whole path. */
export function figureScope({ setting, session }: BenchState): { readonly kind: 'path' } | { readonly kind: 'stage'; readonly key: string } {
  const { openStageKey, figures } = session;
  return figures.scope === 'path' || isSheetKey(openStageKey) || !setting.path.stages.some(({ key }) => key === openStageKey) ? { kind: 'path' } : { kind: 'stage', key: openStageKey };
}

export function scopeWords(state: BenchState): string {
  const scope = figureScope(state);
  return scope.kind === 'path' ? 'whole path' : `${stageName(state.setting, scope.key)} alone`;
}

/** Every value of a view as it is asked now. */
export function figureValues({ session }: BenchState, viewId: string): StageValues {
  const view = figureViewById(viewId);
  const changed = session.figures.values[viewId] ?? {};
  return Object.fromEntries((view?.parameters ?? []).map(({ id, default: standard }) => [id, changed[id] ?? standard]));
}

/** What it is called: its own name, or what differs from now ("RC 4.7 kΩ"), the first two differences in full. */
export function keptName(kept: KeptFigure, state: BenchState): string {
  if (kept.name !== null) return kept.name;
  const differences = differencesFromNow(kept, state);
  if (differences.length === 0) return 'as it is now';
  const [first, second, ...others] = differences;
  return `${first}${second === undefined ? '' : `, ${second}`}${others.length > 0 ? ` and ${others.length} more` : ''}`;
}

/** In words, each as it was when the figure was kept. */
export function differencesFromNow(kept: KeptFigure, state: BenchState): readonly string[] {
  const view = figureViewById(kept.view);
  return [
    ...pathDifferences(kept.setting, state.setting),
    ...(kept.scope === scopeWords(state) ? [] : [kept.scope]),
    ...(view ? valueDifferences(view.parameters, kept.values, figureValues(state, kept.view)) : []),
  ];
}

/** Whether the path stands as it did: there is nothing to restore. */
export function pathIsAsKept(kept: KeptFigure, state: BenchState): boolean {
  return pathDifferences(kept.setting, state.setting).length === 0;
}

function pathDifferences(then: Setting, now: Setting): string[] {
  const was = then.path;
  const is = now.path;
  // Keys are given anew when a setting is read: stages are compared by their places.
  const sameOrder = was.stages.length === is.stages.length && was.stages.every(({ stage }, index) => stage === is.stages[index]!.stage);
  const stages = sameOrder ? was.stages.flatMap((stage, index) => stageDifferences(then, stage, is.stages[index]!)) : [`path ${was.stages.map(({ stage }) => stageById(stage).shortTitle).join(', ')}`];
  return [...stages, ...sheetKeys.flatMap((key) => sheetDifferences(key, was, is)),
    ...(was.fullScaleDbu === is.fullScaleDbu ? [] : [`0 dBFS = +${was.fullScaleDbu} dBu`]),
    ...(was.oversamplingFactor === is.oversamplingFactor ? [] : [`× ${was.oversamplingFactor}`]),
    ...(was.ladder === is.ladder ? [] : [was.ladder.replace('-', ' ')])];
}

function stageDifferences(then: Setting, was: PathStage, is: PathStage): string[] {
  const name = stageName(then, was.key);
  const { parameters } = stageById(was.stage);
  return [
    ...(was.inCircuit === is.inCircuit ? [] : [`${name} ${was.inCircuit ? 'in' : 'out'}`]),
    ...(was.reversed === is.reversed ? [] : [`${name} ${was.reversed ? 'reversed' : 'not reversed'}`]),
    ...(was.joined === is.joined ? [] : [`${name} ${was.joined ? 'joined' : 'not joined'}`]),
    ...valueDifferences(parameters, was.values, is.values, (parameter) => (unique(then.path, parameter) ? '' : ` (${name})`)),
  ];
}

/** Whether no other stage of the path has a value of that name. */
function unique({ stages }: PathSetting, parameter: Parameter): boolean {
  return stages.filter(({ stage }) => stageById(stage).parameters.some((other) => headingOf(other) === headingOf(parameter))).length === 1;
}

function sheetDifferences(key: keyof typeof sheets, was: PathSetting, is: PathSetting): string[] {
  const a = was[key];
  const b = is[key];
  if (a === null && b === null) return [];
  if (a === null || b === null) return [`${sheets[key].shortTitle} ${a === null ? 'off' : 'on'}`];
  return valueDifferences(sheets[key].parameters, a, b);
}

function valueDifferences(parameters: readonly Parameter[], was: StageValues, is: StageValues, where: (parameter: Parameter) => string = () => ''): string[] {
  return parameters.flatMap((parameter) => {
    const value = was[parameter.id] ?? parameter.default;
    return value === (is[parameter.id] ?? parameter.default) ? [] : [`${headingOf(parameter)} ${writeValue(value, parameter)}${where(parameter)}`];
  });
}
