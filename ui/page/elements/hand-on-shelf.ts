/** What leaves the bench as a file: each card one of them. */
import { html, nothing } from 'lit';
import { momentWords } from '../pins.ts';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { excerptOffer, excerptWords } from '../ticket-excerpt.ts';
import { BenchElement } from './bench-element.ts';

export class HandOnShelf extends BenchElement {
  static override styles = [base, shelfStyles];

  override render() {
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Hand on</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <ul class="cards packed">
        <li><h3>Render</h3><p>The loop as it sounds through this setting, as a WAV file; the command line writes the same one.</p>${this.#render()}</li>
        <li><h3>Log of playing</h3><p>What was changed since Play, at which frame, to be rendered again by the command line.</p>
          <button class="boxed" id="log" @click=${() => this.send({ kind: 'save-log' })}>Save the log</button></li>
        <li><h3>Ticket</h3><p>A note as a file: another person opens it (Thaw, or drop it on the page), hears exactly its moment through exactly its setting, and answers with a new one in the same file.</p>${this.#ticket()}</li>
        <li><h3>Session log</h3><p>What was done at this bench, dated: values, notes, verdicts, blind comparisons, files.</p>
          <button class="boxed" id="session-log" @click=${() => this.send({ kind: 'whole-page', page: 'session-log' })}>Show the session log</button></li>
        <li><h3>Report</h3><p>Drawings, values, readings, harmonics, figures, notes and checksums on sheets to be read and printed.</p>
          <button class="boxed" id="report" @click=${() => this.send({ kind: 'whole-page', page: 'report' })}>Open the report</button></li>
        <li><h3>Demonstration</h3><demonstration-panel .state=${this.state} .shape=${this.shape} .low=${this.low}></demonstration-panel></li>
      </ul>
    </section>`;
  }

  /** Of the newest note; the others are sent from the margin. */
  #ticket() {
    const { notes } = this.state.setting;
    const index = notes.findLastIndex(({ pin }) => pin);
    const pin = notes[index]?.pin;
    if (!pin) return html`<p class="pencil">There is no note yet: write one in the margin, under Notes, while you listen.</p>`;
    const offer = excerptOffer(this.state, pin);
    return html`<p class="pencil">Newest note: ${notes[index]!.date}${notes[index]!.verdict ? `, ${notes[index]!.verdict}` : ''}, ${momentWords(pin.programme, pin.region)}</p>
      <button class="boxed" id="ticket" @click=${() => this.send({ kind: 'send-note', index, withExcerpt: false })}>Send the newest note</button>
      ${offer?.kind === 'size' ? html`<button class="boxed" @click=${() => this.send({ kind: 'send-note', index, withExcerpt: true })}>Send it with the excerpt, ${excerptWords(offer.bytes)}</button>
        <p>The excerpt lets the other hear your file’s region without the file. Recordings have owners: send only what you may.</p>` : nothing}
      ${offer?.kind === 'refused' ? html`<p class="pencil">Without the excerpt: ${offer.why}.</p>` : nothing}`;
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
