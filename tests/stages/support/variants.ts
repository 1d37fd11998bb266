/** Every way a stage can be wired: all combinations of its choices, numbers at their defaults. */
import { defaultValues } from '../../../dsp/stages/index.ts';
import type { StageDefinition, StageValues } from '../../../dsp/stages/index.ts';

export interface Variant {
  /** "line", "line, driving transformer, damper on". */
  readonly name: string;
  readonly stage: StageDefinition;
  readonly values: StageValues;
}

/** The default first. A stage without `drawingFor` is wired in one way only. */
export function wiredVariants(stage: StageDefinition): Variant[] {
  const defaults = defaultValues(stage);
  let variants: Variant[] = [{ name: stage.id, stage, values: defaults }];
  if (stage.drawingFor === undefined) return variants;
  for (const parameter of stage.parameters) {
    if (parameter.kind !== 'choice') continue;
    const others = parameter.options.filter(({ id }) => id !== parameter.default);
    variants = [...variants, ...others.flatMap(({ id }) => variants.map(({ name, values }) => ({ name: `${name}, ${parameter.shortLabel} ${id}`, stage, values: { ...values, [parameter.id]: id } })))];
  }
  return variants;
}
