/** The card of hearing: the caution, how to calibrate, and behind a calibration of this visit the estimate of exposure with its limits. */
import { css, html, nothing } from 'lit';
import type { HearingCalibration, ListenerKind, PlaybackEquipment } from '../hearing-state.ts';
import { calibrationWords, dayWords, equipmentWords, headphoneLimit, hearingCaution, hearingLimits, listenerWords, weekWords } from '../hearing-words.ts';
import { noisePlays } from '../reduce-hearing.ts';
import { base } from '../styles/base.ts';
import { panelStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';
import { KeptFocus } from './kept-focus.ts';

export class HearingPanel extends BenchElement {
  static override styles = [base, panelStyles, css`
    ol, ul { padding-inline-start: 1.25rem; }
    label { display: flex; flex-wrap: wrap; gap: 0 8px; align-items: baseline; }
    input { width: 6rem; }
    .level { font: italic 400 1.125rem/1.5rem 'Source Sans 3', 'Liberation Sans', sans-serif; color: var(--pencil); }
  `];

  constructor() {
    super();
    new KeptFocus(this, 'h3');
  }

  override render() {
    const { calibration } = this.state.live.hearing;
    return html`
      <h3 tabindex="-1">Hearing</h3>
      <p class="caution">${hearingCaution}</p>
      ${calibration === null ? this.#calibrating() : this.#estimate(calibration)}`;
  }

  #calibrating() {
    const { hearing, toneAsked } = this.state.live;
    const plays = noisePlays(this.state);
    return html`
      <p>How loud it is where you sit, this page cannot know. With a sound-level meter it can estimate what your ears get, against the figures of NIOSH and of WHO and ITU.</p>
      ${hearing.lastTime ? html`<p>Last time: ${calibrationWords(hearing.lastTime)}. It is not used: the volume may have been changed since.</p>` : nothing}
      <label>Heard by <select id="equipment" @change=${(event: Event) => this.send({ kind: 'hearing-equipment', equipment: valueOf(event) as PlaybackEquipment })}>
        ${Object.entries(equipmentWords).map(([id, words]) => html`<option value=${id} .selected=${id === hearing.equipment}>${words}</option>`)}</select></label>
      ${hearing.equipment === 'headphones' ? html`<p class="caution">${headphoneLimit}</p>` : nothing}
      <ol>
        <li>Set the volume of the output device as you will keep it. Hold the meter where your head is, set to A and slow.</li>
        <li><div class="buttons">${plays ? html`<span>The noise plays, the same from both sides.</span>`
          : toneAsked?.kind === 'noise' ? html`<span>The question stands in the listening strip, below.</span>`
          : html`<button class="boxed" id="noise" @click=${() => this.send({ kind: 'ask-noise' })}>Play the noise …</button>`}</div></li>
        <li>Raise the monitor level step by step until the meter reads some 70 dB(A).</li>
        <li><form class="buttons" @submit=${this.#taken}><label>The meter reads <input id="reading" type="text" inputmode="decimal" autocomplete="off" aria-describedby=${hearing.refusal === null ? nothing : 'refusal'} aria-invalid=${hearing.refusal === null ? nothing : 'true'} /> dB(A)</label>
          <button class="boxed">Calibrate</button></form>
          <p class="error" id="refusal" role="alert">${hearing.refusal}</p></li>
      </ol>`;
  }

  #taken(event: Event): void {
    event.preventDefault();
    this.send({ kind: 'calibrate-playback', text: this.renderRoot.querySelector<HTMLInputElement>('#reading')!.value });
  }

  #estimate(calibration: HearingCalibration) {
    const { hearing, playing, tonePlaying } = this.state.live;
    const { day } = hearing.passed;
    return html`
      <p class="level" id="level">${levelWords(hearing.heardDba, playing || tonePlaying)}</p>
      <p id="day">${dayWords(hearing, day)}</p>
      <p id="week">${weekWords(hearing, day)}</p>
      <label>The listener is <select id="listener" @change=${(event: Event) => this.send({ kind: 'hearing-listener', listener: valueOf(event) as ListenerKind })}>
        ${Object.entries(listenerWords).map(([id, words]) => html`<option value=${id} .selected=${id === hearing.listener}>${words}</option>`)}</select></label>
      <p>Calibrated: ${calibrationWords(calibration)}.</p>
      <div class="buttons"><button class="boxed" id="drop" @click=${() => this.send({ kind: 'drop-calibration' })}>Volume, device or place changed: drop it</button></div>
      <h4>What this estimate is not</h4>
      ${calibration.equipment === 'headphones' ? html`<p class="caution">${headphoneLimit}</p>` : nothing}
      <ul>${hearingLimits.map((sentence) => html`<li>${sentence}</li>`)}</ul>`;
  }
}
customElements.define('hearing-panel', HearingPanel);

function levelWords(heardDba: number | null, sounds: boolean): string {
  if (!sounds) return 'Nothing plays.';
  return heardDba === null ? 'Level: in a moment.' : `Level now: about ${Math.round(heardDba)} dB(A).`;
}

function valueOf(event: Event): string {
  return (event.target as HTMLSelectElement).value;
}
