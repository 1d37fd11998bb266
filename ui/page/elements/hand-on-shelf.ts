/** What leaves the bench as a file: each card one of them. */
import { html } from 'lit';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';

export class HandOnShelf extends BenchElement {
  static override styles = [base, shelfStyles];

  override render() {
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Hand on</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <ul class="cards">
        <li><h3>Render</h3><p>The loop as it sounds through this setting, as a WAV file; the command line writes the same one.</p>${this.#render()}</li>
        <li><h3>Log of playing</h3><p>What was changed since Play, at which frame, to be rendered again by the command line.</p>
          <button class="boxed" id="log" @click=${() => this.send({ kind: 'save-log' })}>Save the log</button></li>
        <li><h3>Report</h3><p>Drawings, values, readings, harmonics, figures, notes and checksums on sheets to be read and printed.</p>
          <button class="boxed" id="report" @click=${() => this.send({ kind: 'whole-page', page: 'report' })}>Open the report</button></li>
        <li class="wide"><h3>Demonstration</h3><demonstration-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></demonstration-panel></li>
      </ul>
    </section>`;
  }

  #render() {
    const { rendering } = this.state.live;
    return rendering === null
      ? html`<button class="boxed" id="render" @click=${() => this.send({ kind: 'render' })}>Render the loop</button>`
      : html`<button class="boxed" id="render" @click=${() => this.send({ kind: 'stop-render' })}>Stop render, ${Math.floor(100 * rendering)} %</button>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}
customElements.define('hand-on-shelf', HandOnShelf);
