/** Values of a figure's parameters from the words of a command. */
import type { AnyFigureView } from '../../dsp/measure/figures/index.ts';
import { parseQuantity, writeQuantity } from '../../dsp/path/index.ts';
import type { Parameter, StageValues } from '../../dsp/stages/index.ts';
import type { Words } from './arguments.ts';
import { InputFailure } from './failure.ts';

/** "levelDbu" → "level-dbu" */
export const optionOf = ({ id }: Parameter): string => id.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);

export const written = (parameter: Parameter & { kind: 'number' }, value: number): string => writeQuantity(value, parameter.quantity, parameter.unit);

/** Each parameter from its option, else its default; `named`: options that go by another name. @throws InputFailure */
export function readViewValues(view: AnyFigureView, words: Words, fullScaleDbu: number, named: Readonly<Record<string, string>> = {}): StageValues {
  return Object.fromEntries(view.parameters.map((parameter) => {
    const option = named[parameter.id] ?? optionOf(parameter);
    const text = words.text(option);
    return [parameter.id, text === undefined ? parameter.default : valueOf(parameter, `--${option}`, text, fullScaleDbu)];
  }));
}

/** A figure with or without its unit, as in the page's editors. */
function valueOf(parameter: Parameter, option: string, text: string, fullScaleDbu: number): number | string {
  if (parameter.kind === 'choice') {
    if (!parameter.options.some(({ id }) => id === text)) throw new InputFailure(`${option}: expected one of ${parameter.options.map(({ id }) => id).join(', ')}, got ${text}`);
    return text;
  }
  const { quantity, unit, minimum, maximum } = parameter;
  const parsed = parseQuantity(text, { quantity, unit, fullScaleDbu });
  if (!parsed.ok) throw new InputFailure(`${option}: ${parsed.sentence}`);
  if (!(parsed.value >= minimum && parsed.value <= maximum)) throw new InputFailure(`${option}: expected ${written(parameter, minimum)} to ${written(parameter, maximum)}, got ${written(parameter, parsed.value)}`);
  return parsed.value;
}
