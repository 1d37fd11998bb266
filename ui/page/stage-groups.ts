/** How the stages are grouped where one is chosen. Pure data and a reading of it. */
import { stages } from '../../dsp/stages/index.ts';
import type { StageDefinition } from '../../dsp/stages/index.ts';

/** Groups in the order they are offered, each with its stages in theirs; a stage named in none stands in the last. */
const groups: readonly (readonly [title: string, ids: readonly string[]])[] = [
  ['Amplifying', ['single-ended-bipolar', 'single-ended-field-effect', 'single-ended-valve', 'op-amp-integrated', 'op-amp-discrete', 'line-amplifier', 'push-pull', 'push-pull-thermal']],
  ['Equalising', ['equaliser', 'equaliser-bell', 'equaliser-shelf', 'equaliser-inductor']],
  ['Transformers and lines', ['transformer-input', 'transformer-output', 'line']],
  ['Inputs and buses', ['microphone-input', 'summing-bus']],
  ['Shaping', ['harmonic-shaping']],
];

export interface StageGroup {
  readonly title: string;
  readonly stages: readonly StageDefinition[];
}

/** Every stage there is, once, in its group; empty groups are left out. */
export function stageGroups(all: readonly StageDefinition[] = stages): readonly StageGroup[] {
  const grouped = groups.map(([title, ids]) => ({ title, stages: ids.flatMap((id) => all.filter((stage) => stage.id === id)) }));
  const named = new Set(groups.flatMap(([, ids]) => ids));
  const last = grouped.pop()!;
  return [...grouped, { ...last, stages: [...last.stages, ...all.filter(({ id }) => !named.has(id))] }].filter((group) => group.stages.length > 0);
}
