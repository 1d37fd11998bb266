/** Notes on what was heard: each dated and tied to a moment and a setting, which it gives back, hands on as a ticket, or holds against the note before it. */
import { css, html, nothing } from 'lit';
import type { NotePin, SettingNote } from '../../../dsp/setting/index.ts';
import { isListenFor, momentWords } from '../pins.ts';
import { excerptOffer, excerptWords } from '../ticket-excerpt.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { changeList, changeListStyles } from './change-list.ts';
import './verdict-form.ts';
import type { GivenVerdict } from './verdict-form.ts';

export class NotesBlock extends BenchElement {
  static override styles = [base, changeListStyles, css`
    h2 { font-size: 0.9375rem; line-height: 1.25rem; margin-bottom: 4px; }
    ol { list-style: none; }
    ol > li { font-size: 0.8125rem; line-height: 1.125rem; padding-bottom: 6px; margin-bottom: 6px; border-bottom: 1px solid var(--grid); }
    time, .moment { font-style: italic; color: var(--pencil); }
    .text { white-space: pre-wrap; overflow-wrap: anywhere; display: block; }
    .verdict { font-weight: 600; }
    .doing { display: flex; flex-wrap: wrap; gap: 0 12px; }
    .doing button, summary { text-decoration: underline; text-underline-offset: 3px; }
    details { margin: 0; } summary { cursor: pointer; min-height: 24px; padding-block: 3px; list-style: none; }
    @media (pointer: coarse) { summary { min-height: 44px; padding-block: 13px; } }
    @media print { .doing, summary { display: none; } }
  `];

  override render() {
    const { notes } = this.state.setting;
    const shown = notes.map((note, index) => ({ note, index })).filter(({ note }) => !isListenFor(note));
    return html`<h2>Notes</h2>
      ${shown.length === 0 ? nothing : html`<ol>${shown.map(({ note, index }) => this.#note(note, index))}</ol>`}
      <verdict-form .label=${'New note'} .action=${'Add note'} @verdict-given=${(event: CustomEvent<GivenVerdict>) => this.send({ kind: 'note', text: event.detail.words, verdict: event.detail.verdict })}></verdict-form>
      <p class="note pencil">A note pins region, setting and harmonics as they are.</p>`;
  }

  #note(note: SettingNote, index: number) {
    const { date, text, verdict, pin } = note;
    const name = `note of ${date}${text === '' ? '' : `, ${text.slice(0, 40)}`}`;
    return html`<li>
      <time datetime=${date}>${date}</time>${verdict === undefined ? nothing : html` · <span class="verdict">${verdict}</span>`}
      ${text === '' ? nothing : html`<span class="text">${text}</span>`}
      ${pin ? html`<span class="moment">${momentWords(pin.programme, pin.region)}</span>` : nothing}
      <div class="doing">
        ${pin ? html`<button aria-label=${`Back to this: ${name}`} title="Region and setting as they were; Undo takes the setting back" @click=${() => this.send({ kind: 'back-to-note', index })}>Back to this</button>
          <button aria-label=${`Send: ${name}`} title="A ticket file: whoever opens it hears this moment through this setting, and answers" @click=${() => this.send({ kind: 'send-note', index, withExcerpt: false })}>Send</button>
          ${this.#excerpt(pin, index, name)}` : nothing}
        <button aria-label=${`Drop: ${name}`} @click=${() => this.send({ kind: 'drop-note', index })}>Drop</button>
      </div>
      ${pin ? this.#changes(pin, index) : nothing}</li>`;
  }

  /** A file of the listener's own goes along only when that is asked for. */
  #excerpt(pin: NotePin, index: number, name: string) {
    const offer = excerptOffer(this.state, pin);
    if (offer?.kind !== 'size') return nothing;
    return html`<button aria-label=${`Send with the excerpt: ${name}`} title="The region’s samples go into the file: recordings have owners" @click=${() => this.send({ kind: 'send-note', index, withExcerpt: true })}>Send with the excerpt, ${excerptWords(offer.bytes)}</button>`;
  }

  /** Against the note before that pins something; of the first, against now. */
  #changes(pin: NotePin, index: number) {
    const before = this.state.setting.notes.slice(0, index).findLast((note) => note.pin)?.pin;
    if (!before) return nothing;
    return html`<details><summary>What changed since the note before</summary>
      ${changeList({ path: before.made.setting.path, measurement: before.measurement }, { path: pin.made.setting.path, measurement: pin.measurement })}</details>`;
  }
}
customElements.define('notes-block', NotesBlock);
