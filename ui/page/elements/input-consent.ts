/** Warns before an input is opened and heard, in the listening strip. */
import { css, html } from 'lit';
import { inputMonitorDb } from '../reduce-live-input.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { printedDb } from './monitor-level.ts';

export class InputConsent extends BenchElement {
  static override styles = [base, css`
    p { max-width: 46rem; }
    .answers { display: flex; flex-wrap: wrap; gap: 8px 16px; margin-top: 8px; }
    :host([low]) .ask { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; } :host([low]) .answers { margin-top: 0; }
  `];

  override render() {
    const opening = this.state.live.input.phase === 'opening';
    return html`<div class="ask" role="group" aria-label="Before an input is heard">
      <p>${opening ? html`Opening the input; the browser may ask whether it may.`
        : html`<strong>The input will be heard. Use headphones, or turn the monitor down: loudspeakers and a microphone can howl.</strong> It begins at ${printedDb(inputMonitorDb)}.`}</p>
      <div class="answers">
        ${opening ? '' : html`<button class="boxed" @click=${() => this.send({ kind: 'input-consent' })}>Begin</button>`}
        <button class="boxed" id="refuse" @click=${() => this.send(opening ? { kind: 'input-close' } : { kind: 'input-refuse' })}>Not now</button>
      </div>
    </div>`;
  }

  /** The question is met on its harmless answer. */
  focusAnswer(): void {
    this.renderRoot.querySelector<HTMLElement>('#refuse')?.focus();
  }
}
customElements.define('input-consent', InputConsent);
