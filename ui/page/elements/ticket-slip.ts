/** The ticket that is open, above the drawing: what was said, what changed from entry to entry, what was changed since, and the answer. */
import { css, html, nothing } from 'lit';
import type { TicketEntry } from '../../../dsp/setting/index.ts';
import { measurementOf, momentWords } from '../pins.ts';
import { entryName } from '../reduce-ticket.ts';
import { base } from '../styles/base.ts';
import type { OpenTicket } from '../ticket-state.ts';
import { BenchElement } from './bench-element.ts';
import { changeList, changeListStyles } from './change-list.ts';
import './verdict-form.ts';
import type { GivenVerdict } from './verdict-form.ts';

export class TicketSlip extends BenchElement {
  static override styles = [base, changeListStyles, css`
    section { border: 1px solid var(--edge); border-inline-start: 3px solid var(--pen); background: var(--sheet); padding: 8px 16px 12px; margin-bottom: 16px; }
    .head { display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline; gap: 0 16px; }
    h2 { font-size: 1.125rem; line-height: 1.5rem; }
    ol { list-style: none; }
    ol > li { border-top: 1px solid var(--grid); padding: 6px 0; }
    .said { display: flex; flex-wrap: wrap; align-items: baseline; gap: 0 12px; font-size: 0.8125rem; line-height: 1.25rem; }
    time, .moment { font-style: italic; color: var(--pencil); }
    .verdict { font-weight: 600; }
    .text { white-space: pre-wrap; overflow-wrap: anywhere; font-size: 0.9375rem; line-height: 1.25rem; }
    h3 { margin: 6px 0 2px; }
    button.here { text-decoration: underline; text-underline-offset: 3px; }
    details > summary { cursor: pointer; min-height: 24px; line-height: 1.5rem; font-size: 0.8125rem; text-decoration: underline; text-underline-offset: 3px; list-style: none; }
    @media (pointer: coarse) { summary { min-height: 44px; line-height: 2.75rem; } }
    @media (forced-colors: active) { section { background: Canvas; } }
    :host([shape='narrow']) section { padding: 8px 12px; }
  `];

  override render() {
    const open = this.state.live.ticket;
    if (!open) return nothing;
    const { ticket } = open;
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Ticket: ${ticket.title}</h2><button class="boxed" title="The setting stays on the bench" @click=${() => this.send({ kind: 'close-ticket' })}>Put away</button></div>
      <p class="note moment">${momentWords(ticket.programme, ticket.region)}${soundWords(open)}</p>
      <ol>${ticket.entries.map((entry, index) => this.#entry(open, entry, index))}</ol>
      ${this.#sinceThen(open)}
      <h3>Answer with the setting on the bench</h3>
      <verdict-form .label=${'Words of the answer'} .action=${'Answer'} @verdict-given=${(event: CustomEvent<GivenVerdict>) => this.send({ kind: 'answer-ticket', ...event.detail })}></verdict-form>
      <p class="note pencil">Answer writes the file again with both: hand it back. Nothing is uploaded.</p>
    </section>`;
  }

  #entry(open: OpenTicket, { date, words, verdict, measurement, made }: TicketEntry, index: number) {
    const { entries } = open.ticket;
    const before = entries[index - 1];
    const newest = index === entries.length - 1;
    return html`<li>
      <div class="said"><time datetime=${date}>${date}</time>${verdict === null ? nothing : html`<span class="verdict">${verdict}</span>`}
        ${open.entry === index ? html`<span class="pencil">on the bench since</span>` : html`<button class="here" @click=${() => this.send({ kind: 'ticket-entry', index })}>Hear the setting of ${entryName(open.ticket, index)}</button>`}</div>
      ${words === '' ? nothing : html`<p class="text">${words}</p>`}
      ${before ? html`<details ?open=${newest}><summary>What changed since ${entryName(open.ticket, index - 1)}</summary>
        ${changeList({ path: before.made.setting.path, measurement: before.measurement }, { path: made.setting.path, measurement })}</details>` : nothing}</li>`;
  }

  /** What the listener changed, against the entry that was put on the bench. */
  #sinceThen({ ticket, entry }: OpenTicket) {
    const { made, measurement } = ticket.entries[entry]!;
    if (made.setting.path === this.state.setting.path) return nothing;
    const now = { path: this.state.setting.path, measurement: measurementOf(this.state) };
    return html`<h3>Now, against ${entryName(ticket, entry)}</h3>${changeList({ path: made.setting.path, measurement }, now)}`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}
customElements.define('ticket-slip', TicketSlip);

function soundWords({ sound }: OpenTicket): string {
  switch (sound.kind) {
    case 'looking': return ', looking for it';
    case 'there': return '';
    case 'excerpt': return ', heard as the excerpt that came with it';
    case 'missing': return `. ${sound.sentence}`;
  }
}
