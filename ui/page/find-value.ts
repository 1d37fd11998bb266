/** Finding a value by what a person calls it: "RE1", "r e 1", "collector load", "quiescent". Pure. */
import type { Setting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import type { Parameter, StageDefinition, StageValues } from '../../dsp/stages/index.ts';
import { sheetKeys, sheets } from './sheets.ts';

export interface FoundValue {
  readonly stageKey: string;
  readonly parameter: Parameter;
  /** Place in the path from 1, as the strip numbers it, or the name of a sheet that is on. */
  readonly place: string;
}

/** How well a name fits, best first; anything else does not. */
const fits: readonly ((name: string, wanted: string) => boolean)[] = [
  (name, wanted) => name === wanted,
  (name, wanted) => name.startsWith(wanted),
  (name, wanted) => name.includes(wanted),
];

/** Matching values, best first: exact before beginning before inside; the open stage before the others. */
export function findValues(setting: Setting, openStageKey: string, text: string): readonly FoundValue[] {
  const wanted = plain(text);
  if (wanted === '') return [];
  const found: { readonly value: FoundValue; readonly rank: number }[] = [];
  const places = [...setting.path.stages.map(({ key, stage, values }, index) => ({ key, place: String(index + 1), table: shown(stageById(stage), values) })),
    ...sheetKeys.filter((key) => setting.path[key] !== null).map((key) => ({ key, place: sheets[key].shortTitle, table: sheets[key] }))];
  for (const { key, place, table } of places) {
    for (const parameter of table.parameters) {
      const names = [parameter.designator ?? '', parameter.label, parameter.shortLabel, parameter.spokenLabel].map(plain);
      const fit = fits.findIndex((test) => names.some((name) => name !== '' && test(name, wanted)));
      if (fit >= 0) found.push({ value: { stageKey: key, parameter, place }, rank: 2 * fit + (key === openStageKey ? 0 : 1) });
    }
  }
  return found.sort((a, b) => a.rank - b.rank).map(({ value }) => value);
}

/** A table of what the sheet shows: values that do nothing at the moment are not found. */
function shown({ parameters, relevant }: StageDefinition, values: StageValues): Pick<StageDefinition, 'parameters'> {
  const ids = relevant?.(values);
  return { parameters: ids ? parameters.filter(({ id }) => ids.includes(id)) : parameters };
}

/** Lower case without spaces and points, Greek letters by name: "Q1 β" and "q 1 beta" are the same. */
function plain(text: string): string {
  return text.toLowerCase().replace(/β/g, 'beta').replace(/µ|μ/g, 'mu').replace(/[^a-z0-9]+/g, '');
}
