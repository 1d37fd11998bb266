/**
 * Everything the keys do to the order of the path, as buttons; acts on the open stage. Opens the chooser of stages to insert one.
 * Sends `editor-done` when a stage was inserted or the chooser was closed by key, so that the focus can go back to the path.
 */
import { css, html, nothing } from 'lit';
import type { PathStage } from '../../../dsp/path/index.ts';
import { mostStages } from '../reduce-setting.ts';
import { stageName } from '../tell.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import './stage-chooser.ts';
import type { StageChooser } from './stage-chooser.ts';

type Side = 'before' | 'after';

export class PathEditor extends BenchElement {
  static override properties = { ...BenchElement.properties, side: { state: true } };
  static override styles = [base, css`
    .row { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; padding: 8px 0; border-top: 1px solid var(--edge); }
    .keys { font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    stage-chooser { padding-bottom: 8px; }
    .full { padding: 0 0 8px; }
    @media (pointer: coarse) { .keys { display: none; } }
  `];

  /** Where the chooser inserts, as seen from the open stage; null: it is closed. */
  declare private side: Side | null;

  constructor() {
    super();
    this.side = null;
  }

  get #stages(): readonly PathStage[] {
    return this.state.setting.path.stages;
  }

  protected override render(): unknown {
    const { setting, session } = this.state;
    const key = session.openStageKey;
    const index = this.#stages.findIndex((stage) => stage.key === key);
    const name = index < 0 ? 'the path' : stageName(setting, key);
    return html`<div class="row" role="group" aria-label=${`Change ${name}`}>
        <span>${name}:</span>
        ${index < 0 ? nothing : html`
          <button class="boxed" ?disabled=${index === 0} @click=${() => this.send({ kind: 'move-stage', stageKey: key, toIndex: index - 1 })}>Move earlier</button>
          <button class="boxed" ?disabled=${index === this.#stages.length - 1} @click=${() => this.send({ kind: 'move-stage', stageKey: key, toIndex: index + 1 })}>Move later</button>
          <button class="boxed" ?disabled=${this.#stages.length === 1} @click=${() => this.send({ kind: 'remove-stage', stageKey: key })}>Remove</button>
          ${this.#inserter('before', 'Insert before')}`}
        ${this.#inserter('after', index < 0 ? 'Insert at the end' : 'Insert after')}
        <span class="keys">Drag a stage along the wire, or Shift with the arrows; Insert and Delete.</span>
      </div>
      ${this.side === null ? nothing : this.#chooser(index, name)}`;
  }

  #inserter(side: Side, words: string): unknown {
    const open = this.side === side;
    return html`<button class="boxed" aria-expanded=${open} @click=${() => (open ? this.#close() : void this.choose(side))}>${words}</button>`;
  }

  #chooser(index: number, name: string): unknown {
    if (this.#stages.length >= mostStages) {
      return html`<p class="full error" role="alert">The path holds ${mostStages} stages; remove one to insert another.</p>`;
    }
    return html`<stage-chooser .where=${index < 0 ? 'at the end' : `${this.side} ${name}`} @stage-chosen=${(event: CustomEvent<string>) => this.#insert(event.detail, index)}
      @chooser-closed=${this.#closed}></stage-chooser>`;
  }

  /** Opens the chooser with the focus in it. */
  async choose(side: Side): Promise<void> {
    this.side = side;
    await this.updateComplete;
    const chooser = this.renderRoot.querySelector<StageChooser>('stage-chooser');
    await chooser?.updateComplete;
    chooser?.focusChoice();
  }

  #insert(stage: string, index: number): void {
    this.send({ kind: 'insert-stage', stage, atIndex: index < 0 ? this.#stages.length : this.side === 'after' ? index + 1 : index });
    this.#closed();
  }

  #close(): void {
    this.side = null;
  }

  #closed(): void {
    this.#close();
    this.dispatchEvent(new CustomEvent('editor-done'));
  }
}

customElements.define('path-editor', PathEditor);

declare global {
  interface HTMLElementTagNameMap {
    'path-editor': PathEditor;
  }
}
