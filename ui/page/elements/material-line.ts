/** Under the loop: the file that is being read, what plays of an own one and at which rate, and the question whether it is lowered before the path. */
import { css, html, nothing } from 'lit';
import { materialWords } from '../material-words.ts';
import { trimOffer } from '../trim-words.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

export class MaterialLine extends BenchElement {
  static override styles = [base, css`
    :host { display: block; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    p { display: flex; flex-wrap: wrap; align-items: baseline; gap: 0 12px; }
    .question { color: var(--ink); border-inline-start: 3px double var(--madder); padding-inline-start: 6px; }
    button { color: var(--ink); font-size: 0.8125rem; }
    :host([shape='narrow']) .rates, :host([low]) .rates { display: none; }
  `];

  override render() {
    const { reading } = this.state.live.material;
    return html`
      ${reading ? html`<p id="reading"><span>Reading ${reading.name}, ${Math.floor(100 * reading.done)} %</span><button @click=${() => this.send({ kind: 'stop-reading' })}>Give up</button></p>` : nothing}
      ${materialWords(this.state).map((sentence) => html`<p class="rates">${sentence}</p>`)}
      ${this.#trim()}`;
  }

  #trim() {
    const { material, programme } = this.state.live;
    if (programme?.origin !== 'own') return nothing;
    const { trimDb } = material;
    if (trimDb !== null && trimDb < 0) return html`<p id="trim"><span>Lowered by ${(-trimDb).toFixed(1)} dB before the path, in and out alike.</span>${this.#button('As recorded', 0)}</p>`;
    const offer = trimOffer(this.state);
    if (!offer) return nothing;
    const lower = this.#button(`Lower by ${offer.lowerDb.toFixed(1)} dB`, -offer.lowerDb);
    return trimDb === null
      ? html`<p id="trim" class="question"><span>${offer.sentence} Lower it by ${offer.lowerDb.toFixed(1)} dB?</span>${lower}${this.#button('Leave', 0)}</p>`
      : html`<p id="trim"><span>As recorded it clips: ${offer.lowerDb.toFixed(1)} dB less would not.</span>${lower}</p>`;
  }

  #button(words: string, trimDb: number) {
    return html`<button @click=${() => this.send({ kind: 'trim', trimDb })}>${words}</button>`;
  }
}
customElements.define('material-line', MaterialLine);
