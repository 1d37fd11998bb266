/** What every value editor of one stage is given, and the editor made from it. */
import { html } from 'lit';
import type { SeriesName } from '../../../dsp/path/index.ts';
import type { Parameter, StageValues } from '../../../dsp/stages/contract.ts';
import './value-editor.ts';

export interface ValueContext {
  readonly stageKey: string;
  readonly values: StageValues;
  readonly fullScaleDbu: number;
  readonly series: SeriesName;
  /** Parameter whose newest value does not sound yet; null when all do. */
  readonly lagging: string | null;
  /** Why an entry was not taken, by parameter. */
  readonly refusals: Readonly<Record<string, string>>;
}

export const emptyValueContext: ValueContext = { stageKey: '', values: {}, fullScaleDbu: 24, series: 'E24', lagging: null, refusals: {} };

/** An editor; `row` ones stand at the right of a list and put their words in the flow. */
export function renderEditor(parameter: Parameter, context: ValueContext, row = false): unknown {
  return html`<value-editor ?row=${row} data-parameter=${parameter.id} .stageKey=${context.stageKey} .parameter=${parameter}
    .value=${context.values[parameter.id] ?? parameter.default} .fullScaleDbu=${context.fullScaleDbu} .series=${context.series}
    .sounding=${context.lagging !== parameter.id} .refusal=${context.refusals[parameter.id] ?? null}></value-editor>`;
}
