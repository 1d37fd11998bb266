/** What a figure is measured of and how: scope, and the values of the view's table, edited as a stage's are. Sends `figure-scope`, `figure-value`. */
import { css, html, nothing } from 'lit';
import type { AnyFigureView } from '../../../dsp/measure/figures/index.ts';
import { figureValues } from '../kept-figures.ts';
import { isSheetKey } from '../sheets.ts';
import type { BenchActionEvent } from '../state.ts';
import { stageName } from '../tell.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { renderSlip } from './parts-list.ts';
import { renderEditor } from './value-context.ts';
import type { ValueContext } from './value-context.ts';

export class FigureParameters extends BenchElement {
  static override properties = { ...BenchElement.properties, view: { attribute: false }, refusals: { state: true }, slip: { state: true } };
  static override styles = [base, css`
    .asked { display: flex; flex-wrap: wrap; align-items: baseline; gap: 4px 16px; }
    .one { display: inline-flex; align-items: baseline; gap: 8px; white-space: nowrap; }
    value-editor { --under-width: 240px; }
    value-slip { flex: 1 0 100%; }
  `];

  declare view: AnyFigureView;
  /** Why an entry was not taken, by parameter. */
  declare private refusals: Readonly<Record<string, string>>;
  /** Parameter whose slip is open. */
  declare private slip: string | null;

  constructor() {
    super();
    this.refusals = {};
    this.slip = null;
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (!changed.has('view')) return;
    this.refusals = {};
    this.slip = null;
  }

  protected override render(): unknown {
    const { setting, session } = this.state;
    const { parameters } = this.view;
    const values = figureValues(this.state, this.view.id);
    const context: ValueContext = { stageKey: 'figure', values, fullScaleDbu: setting.path.fullScaleDbu, series: session.series, lagging: null, refusals: this.refusals };
    const slip = parameters.find(({ id }) => id === this.slip);
    return html`<div class="asked" @bench-action=${this.#translate} @value-slip-wanted=${this.#openSlip} @value-slip-done=${this.#closeSlip}>
      ${this.view.live ? nothing : this.#scope()}
      ${parameters.map((parameter) => html`<span class="one"><span class="pencil">${parameter.label}</span>${renderEditor(parameter, context)}</span>`)}
      ${slip?.kind === 'number' ? renderSlip(slip, context) : nothing}</div>`;
  }

  #scope(): unknown {
    const { setting, session } = this.state;
    const { openStageKey, figures } = session;
    const stage = isSheetKey(openStageKey) ? null : stageName(setting, openStageKey);
    const chosen = stage === null ? 'path' : figures.scope;
    return html`<select aria-label="what is measured" title="The open stage alone is measured at its own working level" @change=${(event: Event) => this.send({ kind: 'figure-scope', scope: (event.target as HTMLSelectElement).value as 'path' | 'stage' })}>
      <option value="path" .selected=${chosen === 'path'}>whole path</option>
      <option value="stage" .selected=${chosen === 'stage'} ?disabled=${stage === null}>${stage ?? 'the open stage'} alone</option>
    </select>`;
  }

  /** The editors speak of values of a stage; these belong to the view. */
  #translate(event: BenchActionEvent): void {
    const action = event.detail;
    if (action.kind !== 'set-value' && action.kind !== 'refuse-value' && action.kind !== 'leave-value') return;
    event.stopPropagation();
    if (action.kind === 'refuse-value') this.refusals = { ...this.refusals, [action.parameter]: action.sentence };
    if (action.kind !== 'set-value') return;
    const { [action.parameter]: _, ...others } = this.refusals;
    this.refusals = others;
    this.send({ kind: 'figure-value', view: this.view.id, parameter: action.parameter, value: action.value, phase: action.phase });
  }

  #openSlip(event: CustomEvent<{ parameter: string }>): void {
    event.preventDefault();
    this.slip = event.detail.parameter;
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('value-slip')?.focus());
  }

  #closeSlip(): void {
    const parameter = this.slip;
    this.slip = null;
    if (parameter !== null) void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>(`value-editor[data-parameter="${CSS.escape(parameter)}"]`)?.focus());
  }
}

customElements.define('figure-parameters', FigureParameters);
