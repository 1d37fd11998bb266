/**
 * The path from source to load: one cell a stage on a wire, each with two buttons (open; in or out). One tab stop; left and right move
 * between stages, up and down between the two buttons, Shift with left or right reorders, Insert and Delete add and remove. A cell can be
 * dragged along the wire.
 */
import { html, nothing } from 'lit';
import { repeat } from 'lit/directives/repeat.js';
import { writeComputed } from '../../documents/value-words.ts';
import { writeQuantity } from '../../../dsp/path/index.ts';
import type { PathStage } from '../../../dsp/path/index.ts';
import { stageById } from '../../../dsp/stages/index.ts';
import { jointWords } from '../joint-words.ts';
import { mostStages } from '../reduce-setting.ts';
import { sheets } from '../sheets.ts';
import type { SheetKey } from '../sheets.ts';
import { BenchElement } from './bench-element.ts';
import { CellDrag } from './cell-drag.ts';
import './path-editor.ts';
import type { PathEditor } from './path-editor.ts';
import { layOutCells } from './path-layout.ts';
import { pathStripStyles } from './path-strip-styles.ts';
import { RoomObserver } from './room-observer.ts';
import './stage-sign.ts';

/** Level the joints are reckoned from, dBu. */
const nominalDbu = 4;
/** Px of the words at both ends of the wire. */
const endsPx = 96 + 120;

type Which = 'open' | 'switch';

export class PathStrip extends BenchElement {
  static override properties = { ...BenchElement.properties, roomPx: { state: true }, rover: { state: true }, listed: { state: true }, editing: { state: true }, lifted: { state: true } };
  static override styles = pathStripStyles;

  declare private roomPx: number;
  /** Where the tab stop stands. */
  declare private rover: { readonly key: string; readonly which: Which };
  /** Narrow: the path as a vertical list. */
  declare private listed: boolean;
  /** The row that adds, moves and removes is open. */
  declare private editing: boolean;
  /** Stage being dragged, and the gap it would be put into. */
  declare private lifted: { readonly key: string; readonly gap: number } | null;

  #refocus = false;
  /** The state with the inserted stage comes with the next update. */
  #toOpenStage = false;
  #drag: CellDrag | null = null;
  #clickTaken = false;
  readonly #room = new RoomObserver(this, (widthPx) => { this.roomPx = widthPx; });

  constructor() {
    super();
    this.roomPx = 0;
    this.rover = { key: '', which: 'open' };
    this.listed = false;
    this.editing = false;
    this.lifted = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#room.observe();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#room.disconnect();
  }

  get #stages(): readonly PathStage[] {
    return this.state.setting.path.stages;
  }

  protected override willUpdate(): void {
    const { openStageKey } = this.state.session;
    const stageOpen = this.#stages.some(({ key }) => key === openStageKey);
    if (this.#toOpenStage && stageOpen) this.rover = { key: openStageKey, which: 'open' };
    this.#toOpenStage = false;
    if (!this.#stages.some(({ key }) => key === this.rover.key)) this.rover = { key: stageOpen ? openStageKey : this.#stages[0]!.key, which: this.rover.which };
  }

  protected override updated(): void {
    if (!this.#refocus) return;
    this.#refocus = false;
    this.renderRoot.querySelector<HTMLElement>('[data-rover]')?.focus();
  }

  protected override render(): unknown {
    return html`${this.shape === 'narrow' ? this.#narrow() : this.#wide()}${this.#notice()}
      ${this.editing ? html`<path-editor .state=${this.state} .shape=${this.shape} .low=${this.low} @editor-done=${this.#backToPath}></path-editor>` : nothing}`;
  }

  #wide(): unknown {
    const { lines, cellPx } = layOutCells(this.#stages.length, this.roomPx - endsPx);
    const ends = new Set(lines.slice(0, -1).map((_, line) => lines.slice(0, line + 1).reduce((sum, count) => sum + count)));
    const last = this.#stages.at(-1);
    return html`<div class="strip">
      <div class="end source">${this.#end('source', writeDbu(nominalDbu), 'sourceOhms', 'ideal')}${this.#sheetButton('supply', 'Supply')}</div>
      <ol aria-label="stages of the path" style=${`--cell:${cellPx}px;--line:${lines[0] ?? 1}`} @keydown=${this.#key} @pointermove=${this.#dragged} @pointerup=${this.#dropped} @pointercancel=${this.#endDrag}>
        ${repeat(this.#stages, ({ key }) => key, (stage, index) => this.#cell(stage, index, ends.has(index + 1), ends.has(index)))}
      </ol>
      ${lines.length === 1 ? html`<svg class="tail" aria-hidden="true"><path d="M0 24H4000" /></svg>` : nothing}
      <div class=${lines.length === 1 ? 'end load' : 'end load apart'}>${this.#end('load', last ? this.#level(last) : '', 'loadOhms', 'none')}${this.#editButton()}</div>
    </div>`;
  }

  /** One end of the wire: what stands there, its level, its impedance; opens the sheet of the surroundings. */
  #end(name: 'source' | 'load', level: string, parameter: string, without: string): unknown {
    const { surroundings } = this.state.setting.path;
    const { onTrial } = this.state.session;
    const out = name === 'source' && onTrial.kind === 'path' && !this.state.live.trialIn;
    const ohms = surroundings === null ? without : writeQuantity(surroundings[parameter] as number, 'resistance', 'Ω');
    const current = this.state.session.openStageKey === 'surroundings';
    return html`<button class=${current ? 'end-open current' : 'end-open'} aria-current=${current ? 'true' : nothing} @click=${() => this.send({ kind: 'open-stage', stageKey: 'surroundings' })}>
      <span>${name}</span><b>${level === '' ? '\u00a0' : level}</b><span class=${surroundings === null ? 'note pencil' : 'note ohms'}>${out ? 'out of circuit' : ohms}</span><span class="unseen">, surroundings</span></button>`;
  }

  #sheetButton(sheet: SheetKey, words: string): unknown {
    const current = this.state.session.openStageKey === sheet;
    const on = this.state.setting.path[sheet] !== null;
    return html`<button class=${current ? 'sheet current' : 'sheet'} aria-current=${current ? 'true' : nothing} @click=${() => this.send({ kind: 'open-stage', stageKey: sheet })}>${words}<span class="pencil">${on ? ' on' : ' off'}</span></button>`;
  }

  #cell(stage: PathStage, index: number, goesOn: boolean, comesOn: boolean): unknown {
    const definition = stageById(stage.stage);
    const open = stage.key === this.state.session.openStageKey;
    const faulty = this.state.live.fault?.stageKey === stage.key;
    const joined = jointWords(this.state.setting, index)?.joined === true;
    return html`<li class=${`cell${joined ? ' joined' : ''}${open ? ' current' : ''}${goesOn ? ' goes-on' : ''}${comesOn ? ' comes-on' : ''}${this.#dragClasses(stage.key, index)}`}>
      <button class="open" aria-current=${open ? 'true' : nothing} tabindex=${this.#tabIndex(stage.key, 'open')} data-rover=${this.#rove(stage.key, 'open')}
        @focus=${() => this.#stand(stage.key, 'open')} @click=${() => this.#open(stage)} @pointerdown=${(event: PointerEvent) => this.#pressed(event, stage.key, index)}>
        <stage-sign .stage=${definition} .inCircuit=${this.#isWiredIn(stage)} .faulty=${faulty}></stage-sign>
        <span class="title">${index + 1} ${definition.shortTitle}</span>
      </button>
      ${this.#switch(stage, index, faulty)}
    </li>`;
  }

  #switch(stage: PathStage, index: number, faulty: boolean): unknown {
    const joint = jointWords(this.state.setting, index);
    return html`<button class="switch" role="switch" aria-checked=${stage.inCircuit}
      aria-label=${`${index + 1} ${stageById(stage.stage).shortTitle}, in circuit${joint?.joined ? `, joined to ${joint.before}` : ''}`}
      tabindex=${this.#tabIndex(stage.key, 'switch')} data-rover=${this.#rove(stage.key, 'switch')} @focus=${() => this.#stand(stage.key, 'switch')}
      @click=${() => this.#toggle(stage)}>${faulty ? html`<span class="error">fault</span>` : stage.inCircuit ? 'in' : 'out'}${this.#level(stage, ' · ')}</button>`;
  }

  /** As the wire is drawn, which is what is heard: all out with the whole path, and the stage on trial as the trial stands. */
  #isWiredIn(stage: PathStage): boolean {
    const { onTrial } = this.state.session;
    const { trialIn } = this.state.live;
    if (onTrial.kind === 'path') return trialIn && stage.inCircuit;
    return onTrial.kind === 'stage' && onTrial.key === stage.key ? trialIn : stage.inCircuit;
  }

  #toggle(stage: PathStage): void {
    this.send({ kind: 'stage-in-out', stageKey: stage.key, inCircuit: !stage.inCircuit });
  }

  /** Level at the joint behind a stage; empty until it is known. */
  #level(stage: PathStage, before = ''): string {
    const dbu = this.state.live.jointLevelsDbu[stage.key];
    return dbu === undefined ? '' : before + writeDbu(dbu);
  }

  #dbfs(stage: PathStage): string {
    const dbu = this.state.live.jointLevelsDbu[stage.key];
    return dbu === undefined || !Number.isFinite(dbu) ? '' : writeComputed(dbu - this.state.setting.path.fullScaleDbu, 'level', 'dBFS');
  }

  #narrow(): unknown {
    const open = this.#stages.findIndex(({ key }) => key === this.state.session.openStageKey);
    const stage = this.#stages[open];
    if (this.listed) return this.#list();
    return html`<ol class="cells" aria-label="stages of the path" @keydown=${this.#key} @pointermove=${this.#dragged} @pointerup=${this.#dropped} @pointercancel=${this.#endDrag}>${repeat(this.#stages, ({ key }) => key, (each, index) => html`
        <li class=${`${each === stage ? 'current' : ''}${this.#dragClasses(each.key, index)}`}><button aria-current=${each === stage ? 'true' : nothing} class=${this.#isWiredIn(each) ? '' : 'struck'}
          aria-label=${`${index + 1} ${stageById(each.stage).shortTitle}, ${each.inCircuit ? 'in circuit' : 'out of circuit'}`}
          tabindex=${this.#tabIndex(each.key, 'open')} data-rover=${this.#rove(each.key, 'open')} @focus=${() => this.#stand(each.key, 'open')}
          @click=${() => this.#open(each)} @pointerdown=${(event: PointerEvent) => this.#pressed(event, each.key, index)}>${index + 1}</button></li>`)}</ol>
      <div class="row">
        ${stage ? nothing : html`<b>${sheets[this.state.session.openStageKey as SheetKey].title}</b>`}
        ${stage ? html`<b>${open + 1} ${stageById(stage.stage).shortTitle}</b><button role="switch" aria-checked=${stage.inCircuit}
          aria-label=${`${open + 1} ${stageById(stage.stage).shortTitle}, in circuit`} @click=${() => this.#toggle(stage)}>${stage.inCircuit ? 'in circuit' : 'out of circuit'}</button>` : nothing}
        <span class="spacer"></span>
        <button aria-expanded="false" @click=${() => { this.listed = true; }}>All…</button>
      </div>`;
  }

  #list(): unknown {
    return html`<ol class="list" aria-label="stages of the path" @keydown=${this.#key}>${repeat(this.#stages, ({ key }) => key, (stage, index) => {
      const open = stage.key === this.state.session.openStageKey;
      return html`<li class=${open ? 'current' : ''}>
        <button class="open" aria-current=${open ? 'true' : nothing} tabindex=${this.#tabIndex(stage.key, 'open')} data-rover=${this.#rove(stage.key, 'open')}
          @focus=${() => this.#stand(stage.key, 'open')} @click=${() => this.#choose(stage)}>${index + 1} ${stageById(stage.stage).title}</button>
        <span class="dbfs note computed">${this.#dbfs(stage)}</span>${this.#switch(stage, index, this.state.live.fault?.stageKey === stage.key)}</li>`;
    })}</ol>
    <div class="row">${this.#sheetButton('surroundings', 'Surroundings')}${this.#sheetButton('supply', 'Supply')}${this.#editButton()}<span class="spacer"></span><button aria-expanded="true" @click=${() => { this.listed = false; }}>Close list</button></div>`;
  }

  #choose(stage: PathStage): void {
    this.send({ kind: 'open-stage', stageKey: stage.key });
    this.listed = false;
  }

  #editButton(): unknown {
    return html`<button class="edit" aria-expanded=${this.editing} @click=${() => { this.editing = !this.editing; }}>Change path</button>`;
  }

  /** A file may hold more stages than the page is laid out for. */
  #notice(): unknown {
    const more = this.#stages.length - mostStages;
    if (more <= 0) return nothing;
    return html`<p class="notice note">${this.#stages.length} stages in this file; the page is laid out for ${mostStages}. All of them are shown and play; remove ${more + 1} to insert another.</p>`;
  }

  #tabIndex(key: string, which: Which): number {
    return this.rover.key === key && this.rover.which === which ? 0 : -1;
  }

  #rove(key: string, which: Which): string | typeof nothing {
    return this.rover.key === key && this.rover.which === which ? '' : nothing;
  }

  #stand(key: string, which: Which): void {
    if (this.rover.key !== key || this.rover.which !== which) this.rover = { key, which };
  }

  #key(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Escape' && this.#drag) return this.#endDrag();
    const index = this.#stages.findIndex(({ key }) => key === this.rover.key);
    const { key, which } = this.rover;
    const along = event.key === 'ArrowRight' || event.key === 'ArrowLeft';
    const by = event.key === 'ArrowRight' || event.key === 'ArrowDown' ? 1 : -1;
    if (along && event.shiftKey) this.#move(key, index + by);
    else if (along) this.#rest(index + by, which);
    else if (event.key === 'ArrowUp' || event.key === 'ArrowDown') this.#vertical(index, by, which);
    else if (event.key === 'Home') this.#rest(0, which);
    else if (event.key === 'End') this.#rest(this.#stages.length - 1, which);
    else if (event.key === 'Delete') this.#remove(key);
    else if (event.key === 'Insert') void this.#openInsert(key);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** In the strip the two buttons of a cell stand over one another; in the list rows do. */
  #vertical(index: number, by: 1 | -1, which: Which): void {
    if (this.shape === 'narrow') this.#rest(index + by, which);
    else this.#rest(index, by > 0 ? 'switch' : 'open');
  }

  #rest(index: number, which: Which): void {
    const stage = this.#stages[Math.min(this.#stages.length - 1, Math.max(0, index))]!;
    this.rover = { key: stage.key, which };
    this.#refocus = true;
    this.requestUpdate();
  }

  #move(key: string, toIndex: number): void {
    if (toIndex < 0 || toIndex >= this.#stages.length) return;
    this.#refocus = true;
    this.send({ kind: 'move-stage', stageKey: key, toIndex });
  }

  #remove(key: string): void {
    const index = this.#stages.findIndex((stage) => stage.key === key);
    const next = this.#stages[index + 1] ?? this.#stages[index - 1];
    if (next) this.#rest(this.#stages.indexOf(next), this.rover.which);
    this.send({ kind: 'remove-stage', stageKey: key });
  }

  async #openInsert(key: string): Promise<void> {
    this.send({ kind: 'open-stage', stageKey: key });
    this.editing = true;
    await this.updateComplete;
    await this.renderRoot.querySelector<PathEditor>('path-editor')!.choose('after');
  }

  /** The focus goes to the open stage, which is the one just inserted. */
  #backToPath(): void {
    this.#toOpenStage = true;
    this.#refocus = true;
    this.requestUpdate();
  }

  get #cells(): HTMLElement[] {
    return [...this.renderRoot.querySelectorAll<HTMLElement>('.cell, .cells li')];
  }

  #pressed(event: PointerEvent, key: string, index: number): void {
    if (event.button !== 0 || !event.isPrimary || this.#stages.length === 1) return;
    this.#drag = new CellDrag(event, key, index);
    this.#clickTaken = false;
  }

  #dragged(event: PointerEvent): void {
    const drag = this.#drag;
    if (!drag || event.pointerId !== drag.pointerId) return;
    // Let go outside before it became a drag.
    if (event.buttons === 0) return this.#endDrag();
    if (!drag.move(event, this.#cells.map((cell) => cell.getBoundingClientRect()))) return;
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    this.lifted = { key: drag.key, gap: drag.gap };
  }

  #dropped(event: PointerEvent): void {
    const drag = this.#drag;
    if (!drag || event.pointerId !== drag.pointerId) return;
    this.#endDrag();
    if (!drag.moved) return;
    // The click that follows belongs to the drag.
    this.#clickTaken = true;
    setTimeout(() => { this.#clickTaken = false; });
    this.rover = { key: drag.key, which: 'open' };
    this.#refocus = true;
    if (drag.place !== drag.from) this.send({ kind: 'move-stage', stageKey: drag.key, toIndex: drag.place });
  }

  #endDrag(): void {
    this.#drag = null;
    this.lifted = null;
  }

  /** Classes of a cell while one is dragged: the one that is lifted, and the gap it would go into. */
  #dragClasses(key: string, index: number): string {
    const { lifted } = this;
    if (!lifted) return '';
    const last = index === this.#stages.length - 1;
    return `${lifted.key === key ? ' lifted' : ''}${lifted.gap === index ? ' drop-before' : ''}${last && lifted.gap === index + 1 ? ' drop-after' : ''}`;
  }

  #open(stage: PathStage): void {
    if (!this.#clickTaken) this.send({ kind: 'open-stage', stageKey: stage.key });
  }
}

/** Level of a joint with one decimal. */
function writeDbu(dbu: number): string {
  return Number.isFinite(dbu) ? `${dbu <= -0.05 ? '−' : '+'}${Math.abs(dbu).toFixed(1)} dBu` : 'silent';
}

customElements.define('path-strip', PathStrip);

declare global {
  interface HTMLElementTagNameMap {
    'path-strip': PathStrip;
  }
}
