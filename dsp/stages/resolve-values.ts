/** From what a file, a message or a hand gave to a complete, checked record of a stage's values. */
import type { Parameter, StageDefinition, StageValues } from './contract.ts';
import { formatValue } from './shared/format-value.ts';

/** Says which value of which stage is wrong, what was expected and what was got. */
export class StageValueError extends Error {
  override readonly name = 'StageValueError';
}

/** A stage, or another sheet of values. */
type Table = Pick<StageDefinition, 'id' | 'parameters'> & Partial<Pick<StageDefinition, 'refuse'>>;

/** Every parameter at its default. */
export function defaultValues(stage: Pick<StageDefinition, 'parameters'>): StageValues {
  return Object.fromEntries(stage.parameters.map((parameter) => [parameter.id, parameter.default]));
}

/**
 * `given` with defaults where it is silent, in the table's order. Throws `StageValueError` for an unknown name, a wrong kind of value, a number outside its
 * range or not finite, an unknown option, and for a combination the stage refuses.
 */
export function resolveValues(stage: Table, given: Readonly<Record<string, unknown>>): StageValues {
  const known = new Set(stage.parameters.map((parameter) => parameter.id));
  for (const id of Object.keys(given)) {
    if (!known.has(id)) throw new StageValueError(`${stage.id}: expected one of ${[...known].join(', ')}, got "${id}"`);
  }
  const resolved: Record<string, number | string> = {};
  for (const parameter of stage.parameters) {
    const value = given[parameter.id];
    resolved[parameter.id] = value === undefined ? parameter.default : checked(stage.id, parameter, value);
  }
  const refusal = stage.refuse?.(resolved) ?? null;
  if (refusal !== null) throw new StageValueError(`${stage.id}: ${refusal}`);
  return resolved;
}

function checked(stageId: string, parameter: Parameter, value: unknown): number | string {
  const where = `${stageId}.${parameter.id}`;
  if (parameter.kind === 'choice') {
    if (typeof value === 'string' && parameter.options.some((option) => option.id === value)) return value;
    throw new StageValueError(`${where}: expected ${parameter.options.map((option) => `"${option.id}"`).join(' or ')}, got ${shown(value)}`);
  }
  const { minimum, maximum, unit } = parameter;
  if (typeof value === 'number' && value >= minimum && value <= maximum) return value + 0;
  const got = typeof value === 'number' ? formatValue(value, unit) : shown(value);
  throw new StageValueError(`${where}: expected ${formatValue(minimum, unit)} … ${formatValue(maximum, unit)}, got ${got}`);
}

function shown(value: unknown): string {
  return typeof value === 'string' ? `"${value}"` : String(value);
}
