/** Asks before a tone is played, in the listening strip; while it plays, offers to stop it. */
import { css, html } from 'lit';
import { writeQuantity } from '../../../dsp/path/index.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { printedDb } from './monitor-level.ts';

export class ToneConsent extends BenchElement {
  static override styles = [base, css`
    p { font-weight: 600; }
    .answers { display: flex; flex-wrap: wrap; gap: 8px 16px; margin-top: 8px; }
    :host([low]) .ask { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; } :host([low]) .answers { margin-top: 0; }
  `];

  override render() {
    const { toneAsked, monitorDb } = this.state.live;
    const tone = toneAsked ?? this.state.session.probe;
    const frequency = writeQuantity(tone.frequencyHz, 'frequency', 'Hz');
    const level = writeQuantity(tone.levelDbu, 'level', 'dBu');
    if (!toneAsked) {
      return html`<div class="ask"><p>A ${frequency} tone plays, ${level} into the path.</p>
        <div class="answers"><button class="boxed" @click=${() => this.send({ kind: 'silence' })}>Stop the tone</button></div></div>`;
    }
    return html`<div class="ask" role="group" aria-label="Before a tone plays">
      <p id="question">A ${frequency} tone, ${level} into the path, monitor ${printedDb(monitorDb)}.</p>
      <div class="answers">
        <button class="boxed" @click=${() => this.send({ kind: 'consent-tone' })}>Play the tone</button>
        <button class="boxed" id="refuse" @click=${() => this.send({ kind: 'refuse-tone' })}>Not now</button>
      </div>
    </div>`;
  }

  /** The question is met on its harmless answer. */
  focusAnswer(): void {
    this.renderRoot.querySelector<HTMLElement>('#refuse')?.focus();
  }
}
customElements.define('tone-consent', ToneConsent);
