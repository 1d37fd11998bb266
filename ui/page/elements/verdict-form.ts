/** Words and a verdict on what is heard, in one small form; a note, or the answer to a ticket. Sends `verdict-given`. */
import { css, html, LitElement } from 'lit';
import { verdicts } from '../../../dsp/setting/index.ts';
import type { Verdict } from '../../../dsp/setting/index.ts';
import { base } from '../styles/base.ts';

export interface GivenVerdict {
  readonly words: string;
  readonly verdict: Verdict | null;
}

export class VerdictForm extends LitElement {
  static override properties = { label: { type: String }, action: { type: String } };
  static override styles = [base, css`
    textarea { width: 100%; font-size: 0.8125rem; line-height: 1.125rem; min-height: 44px; resize: vertical; display: block; }
    .row { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 12px; margin-top: 4px; }
    fieldset { border: 0; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 0 12px; }
    legend { float: inline-start; padding: 0; margin-inline-end: 12px; font-size: 0.8125rem; line-height: 1.5rem; }
    label { display: inline-flex; align-items: center; gap: 4px; font-size: 0.8125rem; line-height: 1.5rem; min-height: 24px; cursor: pointer; }
    input[type='radio'] { width: 24px; height: 24px; margin: 0; accent-color: var(--pen); }
    @media (pointer: coarse) { label { min-height: 44px; } }
    @media print { :host { display: none; } }
  `];

  /** Of the words' field. */
  declare label: string;
  /** Of its button. */
  declare action: string;

  override render() {
    return html`<form @submit=${this.#given}>
      <textarea aria-label=${this.label} rows="2" maxlength="10000"></textarea>
      <div class="row"><fieldset><legend>Verdict</legend>
        ${['', ...verdicts].map((verdict) => html`<label class="target"><input type="radio" name="verdict" value=${verdict} ?checked=${verdict === ''}>${verdict === '' ? 'none' : verdict}</label>`)}
      </fieldset><button class="boxed" type="submit">${this.action}</button></div></form>`;
  }

  #given(event: SubmitEvent): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const verdict = verdicts.find((each) => each === new FormData(form).get('verdict')) ?? null;
    const words = form.querySelector('textarea')!.value;
    this.dispatchEvent(new CustomEvent<GivenVerdict>('verdict-given', { detail: { words, verdict } }));
    if (words.trim() !== '' || verdict !== null) form.reset();
  }
}
customElements.define('verdict-form', VerdictForm);
