/**
 * The sheet under a touched value: a field with its echo, the prefixes, − and + (buttons, for a screen reader on a phone cannot always step a
 * spin button), the default. Stands in the flow of the page, over nothing. Sends `set-value` and `refuse-value`, and `value-slip-done`.
 */
import { LitElement, css, html, nothing } from 'lit';
import { nameOf } from '../../documents/value-words.ts';
import { headingOf, parseQuantity, readEntry, splitQuantity, steppedValue, writeQuantity } from '../../../dsp/path/index.ts';
import type { SeriesName } from '../../../dsp/path/index.ts';
import type { NumberParameter } from '../../../dsp/stages/contract.ts';
import { base } from '../styles/base.ts';
import { designator } from '../styles/type.ts';
import { sendAction } from './send-action.ts';
import { usefulPrefixes } from './value-words.ts';

export class ValueSlip extends LitElement {
  static override styles = [base, designator, css`
    :host { display: block; padding: 8px; border: 1.5px solid var(--ink); background: var(--sheet); font-weight: 400; }
    .row { display: flex; flex-wrap: wrap; gap: 8px; align-items: center; }
    .row + .row { margin-top: 8px; }
    .name { flex: 1; }
    input[type='text'] { width: 9ch; flex: 1 1 9ch; min-height: 44px; padding: 0 8px; border: 1px solid var(--edge); background: var(--paper); font-weight: 600; font-size: 1.125rem; }
    button { border: 1px solid var(--edge); padding: 0 8px; text-align: center; min-width: 44px; min-height: 44px; }
    .echo { min-width: 9ch; }
  `];
  static override properties = {
    stageKey: { attribute: false }, parameter: { attribute: false }, value: { attribute: false }, fullScaleDbu: { attribute: false },
    series: { attribute: false }, refusal: { attribute: false }, text: { state: true },
  };

  declare stageKey: string;
  declare parameter: NumberParameter;
  declare value: number;
  declare fullScaleDbu: number;
  declare series: SeriesName;
  declare refusal: string | null;
  /** Text being typed; null: the value as it is. */
  declare private text: string | null;

  constructor() {
    super();
    this.stageKey = '';
    this.fullScaleDbu = 24;
    this.series = 'E24';
    this.refusal = null;
    this.text = null;
  }

  override focus(options?: FocusOptions): void {
    void this.updateComplete.then(() => this.renderRoot.querySelector('input')?.focus(options));
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('parameter') || changed.has('stageKey')) this.text = null;
  }

  protected override render(): unknown {
    if (this.parameter === undefined || this.value === undefined) return nothing;
    const { quantity, unit } = this.parameter;
    const shown = splitQuantity(this.value, quantity, unit);
    const text = this.text ?? writeQuantity(this.value, quantity, unit);
    const read = this.text === null ? null : parseQuantity(this.text, { quantity, unit: shown.unit, fullScaleDbu: this.fullScaleDbu });
    const name = nameOf(this.parameter);
    return html`
      <div class="row"><span class="name"><span class="designator">${headingOf(this.parameter)}</span> ${this.parameter.label}</span>
        <button @click=${this.#done}>Done</button></div>
      <div class="row">
        <button aria-label=${`${name}: less`} @click=${() => this.#step(-1)}>−</button>
        <input type="text" aria-label=${name} aria-describedby="echo" autocomplete="off" spellcheck="false" autocapitalize="off" .value=${text}
          @focus=${(event: Event) => (event.target as HTMLInputElement).select()}
          @input=${(event: Event) => { this.text = (event.target as HTMLInputElement).value; }} @change=${this.#take} @keydown=${this.#key}>
        <button aria-label=${`${name}: more`} @click=${() => this.#step(1)}>+</button>
        <span id="echo" class="echo computed" aria-live="off">${read?.ok ? read.echo : ''}</span>
      </div>
      <div class="row">
        ${usefulPrefixes(this.parameter).map((prefix) => html`<button aria-label=${`${prefix}${unit}`} @pointerdown=${keepFocus}
          @click=${() => this.#prefix(prefix)}>${prefix}${unit}</button>`)}
        <button @click=${() => this.#set(this.parameter.default, 'end')}>default ${writeQuantity(this.parameter.default, quantity, unit)}</button>
      </div>
      ${this.refusal ? html`<div class="row error note" role="status">${this.refusal}</div>` : nothing}`;
  }

  #read(text: string, printedUnit: string): ReturnType<typeof readEntry> {
    return readEntry(text, { parameter: this.parameter, kept: this.value, printedUnit, fullScaleDbu: this.fullScaleDbu });
  }

  #set(value: number, phase: 'end' | 'step'): void {
    this.text = null;
    sendAction(this, { kind: 'set-value', stageKey: this.stageKey, parameter: this.parameter.id, value, phase });
  }

  #step(direction: 1 | -1): void {
    this.#set(steppedValue(this.value, this.parameter, direction, 'step', this.series), 'step');
  }

  /** Figure typed so far (or the shown one) with this prefix. */
  #prefix(prefix: string): void {
    const { quantity, unit } = this.parameter;
    const text = this.text ?? splitQuantity(this.value, quantity, unit).figure;
    this.text = `${text.replace(/[^\d.,+−-]+$/, '').trim()} ${prefix}${unit}`;
    this.#take();
  }

  #take(): void {
    const { text } = this;
    if (text === null) return;
    const { quantity, unit } = this.parameter;
    const read = this.#read(text, splitQuantity(this.value, quantity, unit).unit);
    if (read.ok) this.#set(read.value, 'end');
    else {
      this.text = null;
      sendAction(this, { kind: 'refuse-value', stageKey: this.stageKey, parameter: this.parameter.id, sentence: read.sentence });
    }
  }

  #key(event: KeyboardEvent): void {
    if (event.key === 'Enter') this.#take();
    if (event.key === 'Escape') {
      this.text = null;
      this.#close();
    }
  }

  #done(): void {
    this.#take();
    this.#close();
  }

  #close(): void {
    sendAction(this, { kind: 'leave-value', stageKey: this.stageKey, parameter: this.parameter.id });
    this.dispatchEvent(new CustomEvent('value-slip-done', { bubbles: true, composed: true }));
  }
}

/** A press on a prefix must not take the focus from the field, which would read it before the prefix is there. */
function keepFocus(event: Event): void {
  event.preventDefault();
}

customElements.define('value-slip', ValueSlip);

declare global {
  interface HTMLElementTagNameMap {
    'value-slip': ValueSlip;
  }
}
