/** What the ledger measures: scope, and the probe's frequency and level as values. Sends `scope` and `probe`. */
import { css, html } from 'lit';
import type { NumberParameter } from '../../../dsp/stages/index.ts';
import type { Action, BenchActionEvent } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { renderSlip } from './parts-list.ts';
import { renderEditor } from './value-context.ts';
import type { ValueContext } from './value-context.ts';

/** The two values of the probe tone; their limits are those of the bench. */
export const probeParameters: Readonly<Record<'frequencyHz' | 'levelDbu', NumberParameter>> = {
  frequencyHz: {
    kind: 'number', id: 'frequencyHz', label: 'probe frequency', shortLabel: 'probe', spokenLabel: 'probe frequency', quantity: 'frequency', unit: 'Hz',
    minimum: 20, maximum: 20_000, default: 200, taper: 'logarithmic', step: 1, help: 'Frequency of the tone the harmonics are reckoned for.',
  },
  levelDbu: {
    kind: 'number', id: 'levelDbu', label: 'probe level', shortLabel: 'level', spokenLabel: 'probe level', quantity: 'level', unit: 'dBu',
    minimum: -60, maximum: 30, default: 4, taper: 'decibel', step: 0.5, help: 'Level of the tone at the input of what is measured.',
  },
};

export class ProbeCaption extends BenchElement {
  static override properties = { ...BenchElement.properties, refusals: { state: true }, slip: { state: true } };
  static override styles = [base, css`
    .caption { display: flex; flex-wrap: wrap; align-items: baseline; gap: 0 8px; }
    select { font-weight: 400; }
    value-editor { --under-width: 180px; }
    value-editor[data-parameter='levelDbu'] { --under-left: auto; --under-right: 0; --under-width: 240px; }
  `];

  declare private refusals: Readonly<Record<string, string>>;
  declare private slip: 'frequencyHz' | 'levelDbu' | null;

  constructor() {
    super();
    this.refusals = {};
    this.slip = null;
  }

  protected override render(): unknown {
    const { session, setting } = this.state;
    const context: ValueContext = {
      stageKey: 'probe', values: { ...session.probe }, fullScaleDbu: setting.path.fullScaleDbu, series: session.series, lagging: null, refusals: this.refusals,
    };
    return html`<div class="caption" @bench-action=${this.#translate} @value-slip-wanted=${this.#openSlip} @value-slip-done=${() => { this.slip = null; }}>
      <select aria-label="what is measured" @change=${this.#scope}>
        <option value="path" ?selected=${session.scope === 'path'}>whole path</option>
        <option value="stage" ?selected=${session.scope === 'stage'}>this stage alone, at its own working level</option>
      </select>
      <span>probe tone ${renderEditor(probeParameters.frequencyHz, context)} at ${renderEditor(probeParameters.levelDbu, context)}</span>
      ${this.slip ? renderSlip(probeParameters[this.slip], context) : ''}
    </div>`;
  }

  #scope(event: Event): void {
    this.send({ kind: 'scope', scope: (event.target as HTMLSelectElement).value as 'path' | 'stage' });
  }

  #openSlip(event: CustomEvent<{ parameter: 'frequencyHz' | 'levelDbu' }>): void {
    event.preventDefault();
    this.slip = event.detail.parameter;
  }

  /** The editors speak of values of a stage; the probe belongs to none. */
  #translate(event: BenchActionEvent): void {
    const action: Action = event.detail;
    if (action.kind !== 'set-value' && action.kind !== 'refuse-value' && action.kind !== 'leave-value') return;
    event.stopPropagation();
    if (action.kind === 'refuse-value') this.refusals = { [action.parameter]: action.sentence };
    if (action.kind !== 'set-value') return;
    this.refusals = {};
    this.send({ kind: 'probe', ...this.state.session.probe, [action.parameter]: action.value });
  }
}

customElements.define('probe-caption', ProbeCaption);

declare global {
  interface HTMLElementTagNameMap {
    'probe-caption': ProbeCaption;
  }
}
