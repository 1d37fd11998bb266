/** A field that takes a designator or a name and goes to that value. */
import { css, html, nothing } from 'lit';
import { findValues } from '../find-value.ts';
import type { FoundValue } from '../find-value.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

/** As many as can be read at a glance. */
const shown = 6;

export class GoToValue extends BenchElement {
  static override properties = { ...BenchElement.properties, text: { state: true }, refusal: { state: true } };
  declare text: string;
  declare refusal: string | null;

  static override styles = [base, css`
    form { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; padding: 8px 0; border-bottom: 1px solid var(--edge); }
    input[type='text'] { width: 12rem; max-width: 100%; }
    ul { list-style: none; display: flex; flex-wrap: wrap; gap: 0 16px; }
  `];

  constructor() {
    super();
    this.text = '';
    this.refusal = null;
  }

  override render() {
    const found = findValues(this.state.setting, this.state.session.openStageKey, this.text).slice(0, shown);
    return html`<form role="search" aria-label="Go to a value" @submit=${this.#submitted} @keydown=${this.#keyed}>
      <label for="name">Go to value</label>
      <input id="name" type="text" autocomplete="off" spellcheck="false" aria-describedby="hint" .value=${this.text} @input=${this.#typed} />
      <span id="hint" class="pencil note">designator or name, then Enter</span>
      <ul>${found.map((value) => html`<li><button type="button" @click=${() => this.#choose(value)}>${value.place} ${value.parameter.designator ?? ''} ${value.parameter.label}</button></li>`)}</ul>
      ${this.refusal ? html`<span class="error" role="alert">${this.refusal}</span>` : nothing}
    </form>`;
  }

  focusField(): void {
    this.renderRoot.querySelector<HTMLElement>('#name')?.focus();
  }

  #typed(event: Event): void {
    this.text = (event.target as HTMLInputElement).value;
    this.refusal = null;
  }

  #keyed(event: KeyboardEvent): void {
    if (event.key === 'Escape') this.send({ kind: 'go-to', open: false });
  }

  #submitted(event: SubmitEvent): void {
    event.preventDefault();
    const [best] = findValues(this.state.setting, this.state.session.openStageKey, this.text);
    if (best) this.#choose(best);
    else this.refusal = `No value is called "${this.text.slice(0, 40)}".`;
  }

  #choose(value: FoundValue): void {
    this.dispatchEvent(new CustomEvent<FoundValue>('value-chosen', { detail: value, bubbles: true, composed: true }));
  }
}
customElements.define('go-to-value', GoToValue);
