/** Ways of listening beyond the switch: each card a panel of its own. */
import { html } from 'lit';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';

export class ListeningShelf extends BenchElement {
  static override styles = [base, shelfStyles];

  override render() {
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Listening</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <ul class="cards packed">
        <li><material-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></material-panel></li>
        <li><match-differences .state=${this.state} .shape=${this.shape} .low=${this.low}></match-differences></li>
        <li><live-input-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></live-input-panel></li>
        <li><hearing-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></hearing-panel></li>
        <li><long-listening-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></long-listening-panel></li>
      </ul>
    </section>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}
customElements.define('listening-shelf', ListeningShelf);
