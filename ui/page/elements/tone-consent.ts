/** Asks before a tone is played, in the listening strip; while it plays, offers to stop it. */
import { css, html } from 'lit';
import { writeQuantity } from '../../../dsp/path/index.ts';
import { openingMonitorDb } from '../opening.ts';
import type { ToneRequest } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { KeptFocus } from './kept-focus.ts';
import { printedDb } from './monitor-level.ts';

export class ToneConsent extends BenchElement {
  static override styles = [base, css`
    p { font-weight: 600; }
    .answers { display: flex; flex-wrap: wrap; gap: 8px 16px; margin-top: 8px; }
    :host([low]) .ask { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; } :host([low]) .answers { margin-top: 0; }
  `];

  constructor() {
    super();
    new KeptFocus(this, 'button');
  }

  override render() {
    const { toneAsked, tone, monitorDb } = this.state.live;
    const subject = (toneAsked ?? tone)?.kind === 'noise' ? 'noise' : 'tone';
    if (!toneAsked) {
      const plays = tone === null ? 'A tone plays' : tone.kind === 'noise' ? 'Noise for a sound-level meter plays' : `${sineWords(tone, ' plays')}`;
      return html`<div class="ask"><p>${plays}.</p>
        <div class="answers"><button class="boxed" @click=${() => this.send({ kind: 'silence' })}>Stop the ${subject}</button></div></div>`;
    }
    // The noise begins no louder than this (`consentTone`).
    const level = printedDb(toneAsked.kind === 'noise' ? Math.min(monitorDb, openingMonitorDb) : monitorDb);
    const asked = toneAsked.kind === 'noise' ? 'Noise from 500 Hz to 2 kHz for a sound-level meter' : sineWords(toneAsked, '');
    return html`<div class="ask" role="group" aria-label=${`Before a ${subject} plays`}>
      <p id="question">${asked}, monitor ${level}.</p>
      <div class="answers">
        <button class="boxed" @click=${() => this.send({ kind: 'consent-tone' })}>Play the ${subject}</button>
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

function sineWords({ frequencyHz, levelDbu }: Extract<ToneRequest, { kind: 'sine' }>, verb: string): string {
  return `A ${writeQuantity(frequencyHz, 'frequency', 'Hz')} tone${verb}, ${writeQuantity(levelDbu, 'level', 'dBu')} into the path`;
}
