/** The big switch, and beneath it what is on trial. Out is told by a dashed frame and by its words. */
import { css, html } from 'lit';
import { capital } from '../../documents/first-letter.ts';
import { MomentarySwitch } from '../../documents/momentary.ts';
import { base } from '../styles/base.ts';
import { hearsBench, pairsAtHand } from '../pair.ts';
import type { Pair } from '../drafts-state.ts';
import { inName, outName, stageName, trialName } from '../tell.ts';
import { BenchElement } from './bench-element.ts';

export class InOutBox extends BenchElement {
  readonly #hold = new MomentarySwitch();

  static override styles = [base, css`
    .box { display: block; width: 100%; height: 3.5rem; border: 2px solid var(--ink); background: var(--sheet); text-align: center; font: 600 1.125rem/1.5rem 'STIX Two Text', 'Liberation Serif', serif; touch-action: manipulation; user-select: none; -webkit-user-select: none; }
    .box.out { border-style: dashed; background: transparent; }
    .box:hover { text-decoration: none; }
    .caption { display: flex; align-items: baseline; gap: 4px; min-height: 24px; margin-top: 4px; white-space: nowrap; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    .caption select { flex: 0 1 auto; min-width: 0; color: var(--ink); font-weight: 400; }
    :host([low]) { display: grid; grid-template-columns: 7.375rem minmax(0, 1fr); gap: 8px; align-items: center; }
    :host([low]) .box { height: 2.75rem; } :host([low]) .caption, :host([shape='narrow']) .caption { margin-top: 0; }
    @media (max-height: 700px) { :host([shape='narrow']) .box { height: 3rem; } }
    @media (forced-colors: active) { .box { border-color: ButtonText; } }
  `];

  override render() {
    const { setting, session, live } = this.state;
    const { onTrial } = session;
    const chosen = session.pair !== null ? '' : onTrial.kind === 'without' ? 'without' : onTrial.kind === 'path' ? 'path' : onTrial.key;
    const letter = session.keys.letters.toggle.toUpperCase();
    return html`
      <button class="box ${live.trialIn ? 'in' : 'out'}" aria-describedby="what"
        @pointerdown=${this.#pressed} @pointerup=${this.#released} @pointercancel=${this.#released} @lostpointercapture=${this.#released} @click=${this.#clicked}
        @contextmenu=${(event: Event) => event.preventDefault()}>${capital(live.trialIn ? inName(this.state) : outName(this.state))}</button>
      <span class="unseen" id="what">switches what is on trial${hearsBench(session) ? '' : ', the bench is not heard'}</span>
      <div class="caption">
        ${session.keys.singleLetters && !this.low ? html`<span>${letter} ·</span>` : ''} <label for="trial" class=${this.low ? 'unseen' : ''}>on trial:</label>
        <select id="trial" @change=${this.#chosen}>
          <option value="path" .selected=${chosen === 'path'}>whole path</option>
          ${setting.path.stages.map(({ key }) => html`<option value=${key} .selected=${chosen === key}>${stageName(setting, key)}</option>`)}
          ${onTrial.kind === 'without' ? html`<option value="without" selected>${trialName(this.state)}</option>` : ''}
          ${this.#pairs()}
        </select>
      </div>
      ${hearsBench(session) || this.low || this.shape === 'narrow' ? '' : html`<p class="note pencil">the bench is not heard</p>`}`;
  }

  /** Any two of the bench and what is laid down; the one on trial also the other way about. */
  #pairs() {
    const { pair } = this.state.session;
    const isOn = ({ in: first, out: second }: Pair) => pair !== null && pair.in === first && pair.out === second;
    const atHand = pairsAtHand(this.state);
    const offered = pair === null || atHand.some(isOn) ? atHand : [...atHand, pair];
    return offered.map((each) => html`<option value=${`${each.in} ${each.out}`} .selected=${isOn(each)}>${each.in} against ${each.out}</option>`);
  }

  #pressed(event: PointerEvent): void {
    if (event.button !== 0) return;
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    this.#switchTo(this.#hold.press(event.timeStamp, this.state.live.trialIn));
  }

  #released(event: PointerEvent): void {
    this.#switchTo(this.#hold.release(event.timeStamp));
  }

  /** A click without a pointer comes from the keyboard or from assistive technology. */
  #clicked(event: MouseEvent): void {
    if (event.detail === 0) this.#switchTo(!this.state.live.trialIn);
  }

  #switchTo(trialIn: boolean | null): void {
    if (trialIn !== null) this.send({ kind: 'switch', trialIn });
  }

  #chosen(event: Event): void {
    const { value } = event.target as HTMLSelectElement;
    if (value === 'without') return;
    const pair = pairsAtHand(this.state).find((each) => `${each.in} ${each.out}` === value);
    if (pair) {
      this.send({ kind: 'pair-on-trial', pair });
      return;
    }
    this.send({ kind: 'on-trial', onTrial: value === 'path' ? { kind: 'path' } : { kind: 'stage', key: value } });
  }
}

customElements.define('in-out-box', InOutBox);
