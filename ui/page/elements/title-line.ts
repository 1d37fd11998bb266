/** Name of the setting, whether it changed since it was frozen, and what one does with whole settings. */
import { css, html, nothing } from 'lit';
import { actionOfFile } from '../dropped-file.ts';
import { shelves } from '../shelves.ts';
import { base } from '../styles/base.ts';
import type { SessionState, ShelfName } from '../state.ts';
import { BenchElement } from './bench-element.ts';

export class TitleLine extends BenchElement {
  static override styles = [base, css`
    :host { border-bottom: 1.5px solid var(--ink); }
    .line { display: flex; flex-wrap: wrap; align-items: center; gap: 0 16px; min-height: 39px; padding: 4px 0; }
    .name { flex: 1 1 7rem; overflow: hidden; min-width: 0; display: flex; align-items: baseline; gap: 0 6px; margin-inline-start: 8px; font: italic 400 0.875rem/1.25rem 'STIX Two Text', 'Liberation Serif', serif; color: var(--pencil); }
    .name input { font: inherit; color: inherit; background: transparent; border: 0; border-bottom: 1.5px dotted transparent; padding: 0; min-height: 24px; min-width: 3rem; max-width: 100%; field-sizing: content; text-overflow: ellipsis; }
    .name input:hover, .name input:focus { border-bottom-color: var(--pen); }
    .name .changed { white-space: nowrap; }
    .actions { display: flex; flex-wrap: wrap; align-items: center; gap: 0 16px; }
    .actions select { font-weight: 400; }
    .actions select:not(:hover) { background: none; }
    :host([shape='narrow']) .name { flex: 1 1 4rem; overflow: hidden; white-space: nowrap; }
    :host([shape='narrow']) .line, :host([shape='narrow']) .actions { gap: 0 12px; }
    .more { padding-bottom: 8px; }
    @media (pointer: coarse) { .name input { min-height: 44px; min-width: 44px; } }
    @media print { .actions { display: none; } }
  `];

  override render() {
    const narrow = this.shape === 'narrow';
    const more = narrow && this.state.session.marginOpen;
    return html`
      <header>
        <div class="line">
          <h1>Stagebench</h1>
          ${more ? nothing : this.#name()}
          <div class="actions">
            ${this.#undoRedo()}
            ${narrow
              ? html`<button aria-expanded=${more} aria-controls="more" @click=${() => this.send({ kind: 'margin', open: !more })}>${more ? 'Less' : 'More'}</button>`
              : this.#files()}
          </div>
        </div>
        ${narrow ? html`<div id="more" class="more" ?hidden=${!more}>${more ? html`${this.#name()}<div class="actions">${this.#files()}</div>` : nothing}</div>` : nothing}
        <input id="picker" type="file" accept=".json,application/json" hidden @change=${this.#picked} />
      </header>`;
  }

  #name() {
    const { setting, live } = this.state;
    return html`<span class="name">
      <input type="text" aria-label="Name of this setting" maxlength="200" .value=${setting.title} spellcheck="false" @change=${this.#renamed} @keydown=${this.#nameKey} />
      ${live.changedSinceFrozen ? html`<span class="changed">· changed since frozen</span>` : nothing}
    </span>`;
  }

  #undoRedo() {
    const { canUndo, canRedo } = this.state.live;
    return html`
      <button aria-disabled=${!canUndo} class=${canUndo ? '' : 'pencil'} @click=${() => this.send({ kind: 'undo' })}>Undo</button>
      <button aria-disabled=${!canRedo} class=${canRedo ? '' : 'pencil'} @click=${() => this.send({ kind: 'redo' })}>Redo</button>`;
  }

  #files() {
    const { session } = this.state;
    return html`
      ${this.#shelf('paths')}${this.#shelf('drafts')}
      <button @click=${() => this.send({ kind: 'freeze' })}>Freeze</button>
      <button @click=${() => this.#picker.click()}>Thaw</button>
      <button id="blind" title="In against out of circuit without knowing which: ABX or preference, with honest statistics" @click=${this.#blind}>Blind</button>
      ${this.#shelf('listening')}${this.#shelf('hand-on')}
      <select aria-label="Look" @change=${this.#lookChosen}>
        ${(['system', 'light', 'dark'] as const).map((look) => html`<option value=${look} .selected=${session.look === look}>Look: ${look}</option>`)}
      </select>
      ${this.#shelf('keys')}`;
  }

  #shelf(name: ShelfName) {
    const { label, hint } = shelves.find((shelf) => shelf.name === name)!;
    const open = this.state.live.shelf === name;
    return html`<button id=${`shelf-${name}`} aria-expanded=${open} title=${hint} @click=${() => this.send({ kind: 'shelf', shelf: open ? null : name })}>${label}</button>`;
  }

  get #picker(): HTMLInputElement {
    return this.renderRoot.querySelector<HTMLInputElement>('#picker')!;
  }

  /** Back to the button that opened a shelf. */
  focusShelf(name: ShelfName): void {
    this.renderRoot.querySelector<HTMLElement>(`#shelf-${name}`)?.focus();
  }

  /** Back to the button that opened the blind comparison. */
  focusBlind(): void {
    this.renderRoot.querySelector<HTMLElement>('#blind')?.focus();
  }

  #blind(): void {
    this.send({ kind: 'blind-setup', seed: crypto.getRandomValues(new Uint32Array(1))[0]! });
  }

  async #picked(): Promise<void> {
    const file = this.#picker.files?.[0];
    if (!file) return;
    try {
      this.send(await actionOfFile(file));
    } catch (error) {
      this.send({ kind: 'message', text: (error as Error).message, urgent: true });
    } finally {
      // The same file may be picked again.
      this.#picker.value = '';
    }
  }

  #renamed(event: Event): void {
    const field = event.target as HTMLInputElement;
    this.send({ kind: 'rename', title: field.value });
    field.value = this.state.setting.title;
  }

  #nameKey(event: KeyboardEvent): void {
    const field = event.target as HTMLInputElement;
    if (event.key === 'Enter') field.blur();
    if (event.key === 'Escape') field.value = this.state.setting.title;
  }

  #lookChosen(event: Event): void {
    this.send({ kind: 'look', look: (event.target as HTMLSelectElement).value as SessionState['look'] });
  }
}
customElements.define('title-line', TitleLine);
