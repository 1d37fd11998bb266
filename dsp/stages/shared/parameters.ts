/** Builders for parameter tables: what all parameters of one quantity have in common is written once, here. */
import type { ChoiceParameter, NumberParameter, Quantity } from '../contract.ts';

/** What each parameter says for itself. */
export interface ParameterEntry {
  readonly id: string;
  readonly designator?: string;
  /** Designator as spoken: "R B 1". Required with a designator. */
  readonly spoken?: string;
  readonly label: string;
  readonly shortLabel: string;
  readonly help: string;
  readonly range: readonly [minimum: number, maximum: number];
  readonly default: number;
}

function numberParameter(
  entry: ParameterEntry, quantity: Quantity, unit: string, taper: NumberParameter['taper'], step: number,
): NumberParameter {
  const { id, designator, spoken, label, shortLabel, help, range } = entry;
  return {
    kind: 'number', id, ...(designator === undefined ? {} : { designator }), label, shortLabel,
    spokenLabel: spoken === undefined ? label : `${spoken}, ${label}`,
    help, quantity, unit, minimum: range[0], maximum: range[1], default: entry.default, taper, step,
  };
}

/** Values of preferred series: the step is the editor's fine one, 1 % of the default. */
export const resistance = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'resistance', 'Ω', 'logarithmic', entry.default / 100);
export const capacitance = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'capacitance', 'F', 'logarithmic', entry.default / 100);
export const inductance = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'inductance', 'H', 'logarithmic', entry.default / 100);
export const length = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'length', 'm', 'logarithmic', entry.default / 100);
export const resistancePerLength = (entry: ParameterEntry): NumberParameter =>
  numberParameter(entry, 'resistance-per-length', 'Ω/m', 'logarithmic', entry.default / 100);
export const capacitancePerLength = (entry: ParameterEntry): NumberParameter =>
  numberParameter(entry, 'capacitance-per-length', 'F/m', 'logarithmic', entry.default / 100);
export const current = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'current', 'A', 'logarithmic', entry.default / 100);
export const frequency = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'frequency', 'Hz', 'logarithmic', entry.default / 100);
export const time = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'time', 's', 'logarithmic', entry.default / 100);
export const gain = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'gain', 'dB', 'decibel', 0.5);
export const level = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'level', 'dBu', 'decibel', 0.5);
export const harmonicAmount = (entry: ParameterEntry): NumberParameter => numberParameter(entry, 'harmonic-amount', 'dB', 'decibel', 0.5);
export const voltage = (entry: ParameterEntry, step: number): NumberParameter => numberParameter(entry, 'voltage', 'V', 'linear', step);
export const ratio = (entry: ParameterEntry, step: number, taper: 'linear' | 'logarithmic' = 'logarithmic'): NumberParameter =>
  numberParameter(entry, 'ratio', '', taper, step);

/** One of a few named ways; options as [id, label]. */
export function choice(
  entry: Omit<ParameterEntry, 'range' | 'default' | 'designator' | 'spoken'> & { readonly options: readonly (readonly [id: string, label: string])[]; readonly default: string },
): ChoiceParameter {
  const { id, label, shortLabel, help, options } = entry;
  return { kind: 'choice', id, label, shortLabel, spokenLabel: label, help, options: options.map(([option, words]) => ({ id: option, label: words })), default: entry.default };
}

/** Every circuit stage has an ideal level control before its source … */
export function drive(): NumberParameter {
  return gain({
    id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-20, 40], default: 0,
    help: 'Ideal gain before the stage: pushes the signal further into the curve without changing the circuit.',
  });
}

/** … and one after its output. */
export function makeUp(defaultDb: number): NumberParameter {
  return gain({
    id: 'makeUpDb', label: 'make-up', shortLabel: 'make-up', range: [-60, 30], default: defaultDb,
    help: 'Ideal gain after the stage: brings line level in back to line level out; adds no harmonics.',
  });
}
