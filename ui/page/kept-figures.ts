/** Figures that were kept: each with the setting it was measured of, and a name made of what differs between that setting and the present one. Pure. */
import { headingOf, writeValue } from '../../dsp/path/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import { pathChanges } from '../../dsp/setting/index.ts';
import type { PathChange, Setting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import type { Parameter, StageValues } from '../../dsp/stages/index.ts';
import { isSheetKey, sheets } from './sheets.ts';
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
  return pathChanges(state.setting.path, kept.setting.path).length === 0;
}

/** Where the stages are others, or in another order, their list says so and no more of them is told. */
function pathDifferences(then: Setting, now: Setting): string[] {
  const changes = pathChanges(now.path, then.path);
  const ordered = changes.some(({ kind }) => kind === 'stage-added' || kind === 'stage-removed' || kind === 'stage-moved');
  const stages = ordered ? [`path ${then.path.stages.map(({ stage }) => stageById(stage).shortTitle).join(', ')}`] : [];
  return [...stages, ...changes.flatMap((change) => asItWas(change, then.path, ordered))];
}

/** One difference, as it was then. */
function asItWas(change: PathChange, then: PathSetting, ordered: boolean): string[] {
  switch (change.kind) {
    case 'stage-added': case 'stage-removed': case 'stage-moved': return [];
    case 'in-circuit': return ordered ? [] : [`${nameAt(change)} ${change.now ? 'in' : 'out'}`];
    case 'reversed': return ordered ? [] : [`${nameAt(change)} ${change.now ? 'reversed' : 'not reversed'}`];
    case 'joined': return ordered ? [] : [`${nameAt(change)} ${change.now ? 'joined' : 'not joined'}`];
    case 'value': {
      const { place, parameter, now } = change;
      if (place.kind === 'stage' && ordered) return [];
      const where = place.kind === 'sheet' || unique(then, parameter) ? '' : ` (${nameAt(place)})`;
      return [`${headingOf(parameter)} ${writeValue(now, parameter)}${where}`];
    }
    case 'sheet': return [`${sheets[change.sheet].shortTitle} ${change.now ? 'on' : 'off'}`];
    case 'full-scale': return [`0 dBFS = +${change.now} dBu`];
    case 'factor': return [`× ${change.now}`];
    case 'ladder': return [change.now.replace('-', ' ')];
  }
}

function nameAt({ index, stage }: { readonly index: number; readonly stage: string }): string {
  return `${index + 1} ${stageById(stage).shortTitle}`;
}

/** Whether no other stage of the path has a value of that name. */
function unique({ stages }: PathSetting, parameter: Parameter): boolean {
  return stages.filter(({ stage }) => stageById(stage).parameters.some((other) => headingOf(other) === headingOf(parameter))).length === 1;
}

function valueDifferences(parameters: readonly Parameter[], was: StageValues, is: StageValues): string[] {
  return parameters.flatMap((parameter) => {
    const value = was[parameter.id] ?? parameter.default;
    return value === (is[parameter.id] ?? parameter.default) ? [] : [`${headingOf(parameter)} ${writeValue(value, parameter)}`];
  });
}
