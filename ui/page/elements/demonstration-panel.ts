/** What a demonstration page is to say and have, before it is made. */
import { css, html, nothing, type PropertyValues } from 'lit';
import { blindLengths } from '../../documents/demonstration/content.ts';
import { longestSeconds } from '../../documents/demonstration/sound.ts';
import { base } from '../styles/base.ts';
import { outName, trialName } from '../tell.ts';
import type { BenchState } from '../state.ts';
import { BenchElement } from './bench-element.ts';

export class DemonstrationPanel extends BenchElement {
  static override styles = [base, css`
    form { display: flex; flex-direction: column; gap: 8px; margin-top: 4px; }
    label { display: flex; flex-direction: column; gap: 2px; }
    label.beside { flex-direction: row; gap: 8px; align-items: baseline; }
    textarea { width: 100%; min-height: 9rem; resize: vertical; }
    input { width: 100%; }
    .actions { display: flex; flex-wrap: wrap; gap: 8px; }
    p { font-size: 0.8125rem; line-height: 1.125rem; }
  `];
  static override properties = { ...BenchElement.properties, heading: { state: true }, words: { state: true }, blindTrials: { state: true } };
  /** As typed; null: the setting's title. */
  declare heading: string | null;
  declare words: string;
  declare blindTrials: number | null;

  constructor() {
    super();
    this.heading = null;
    this.words = '';
    this.blindTrials = null;
  }

  protected override willUpdate(changed: PropertyValues): void {
    const before = changed.get('state') as BenchState | undefined;
    const { words } = this.state.live.demonstration;
    if (words !== null && before?.live.demonstration.words !== words) this.words = words;
  }

  override render() {
    const { done } = this.state.live.demonstration;
    return html`<p>One page to send to whoever buys or uses the equipment: ${this.#heard()}, in circuit and ${outName(this.state)}, equally loud, with a plain explanation. It opens in any browser without a network.</p>
      <form @submit=${(event: Event) => event.preventDefault()}>
        <label>Title <input id="title" type="text" .value=${this.heading ?? this.state.setting.title} @input=${(event: Event) => { this.heading = valueOf(event); }} /></label>
        <label>Explanation; empty lines part paragraphs, left empty it is made of the path <textarea id="words" .value=${this.words} @input=${(event: Event) => { this.words = valueOf(event); }}></textarea></label>
        <label class="beside">Blind part <select id="trials" @change=${(event: Event) => { this.blindTrials = Number(valueOf(event)) || null; }}>
          <option value="0" .selected=${this.blindTrials === null}>none</option>
          ${blindLengths.map((trials) => html`<option value=${trials} .selected=${this.blindTrials === trials}>ABX, ${trials} trials</option>`)}</select></label>
        <div class="actions">
          <button class="boxed" id="suggest" type="button" @click=${() => this.send({ kind: 'suggest-words' })}>Words from the path</button>
          ${done === null
            ? html`<button class="boxed" id="demonstrate" type="button" @click=${this.#make}>Make the demonstration</button>`
            : html`<button class="boxed" id="stop-demonstration" type="button" @click=${() => this.send({ kind: 'stop-demonstration' })}>Stop, ${Math.floor(100 * done)} %</button>`}
        </div>
        ${this.#tooLong() ? html`<p class="error">Choose a region of at most ${longestSeconds} s.</p>` : nothing}
      </form>`;
  }

  #heard(): string {
    const { session, live } = this.state;
    const region = session.region ? `, ${session.region.startSeconds.toFixed(2)} to ${session.region.endSeconds.toFixed(2)} s` : ', all of it';
    return `${trialName(this.state)}, with ${live.programme?.title ?? 'the loop'}${region}`;
  }

  #tooLong(): boolean {
    const { session: { region }, live: { programme } } = this.state;
    const seconds = region ? region.endSeconds - region.startSeconds : programme ? programme.frames / programme.rateHz : 0;
    return seconds > longestSeconds;
  }

  #make(): void {
    const title = (this.heading ?? this.state.setting.title).trim() || this.state.setting.title;
    this.send({ kind: 'demonstrate', title, words: this.words.trim() === '' ? null : this.words, blindTrials: this.blindTrials });
  }
}
customElements.define('demonstration-panel', DemonstrationPanel);

const valueOf = (event: Event): string => (event.target as HTMLInputElement).value;
