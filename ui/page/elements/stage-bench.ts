/** The root: owns the bench, lays out the regions, hears the keys, and does what needs a browser (files, focus, frames). */
import { css, html, nothing } from 'lit';
import type { LitElement, PropertyValues } from 'lit';
import { MomentarySwitch } from '../../documents/momentary.ts';
import { fileStem } from '../../documents/file-stem.ts';
import type { Bench } from '../bench.ts';
import type { FoundValue } from '../find-value.ts';
import { writeEvents } from '../../../dsp/setting/index.ts';
import { download } from '../download.ts';
import { actionOfFile, droppedHandle } from '../dropped-file.ts';
import { downloadSetting } from '../freeze.ts';
import { requestOf, strokeOf } from '../keys.ts';
import type { KeyRequest } from '../keys.ts';
import { base, besidePlatePx, shapeLimits, textScale } from '../styles/base.ts';
import type { Action, BenchActionEvent, BenchState, Engine, LoopEntry, ShelfName, StageSheetElement } from '../state.ts';
import { BenchElement } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import { figureViews } from '../../../dsp/measure/figures/index.ts';
import './blind-sheet.ts';
import type { BlindSheet } from './blind-sheet.ts';
import { writeBlindRecord } from '../blind-record.ts';
import { shelves, type HeadedElement } from '../shelves.ts';
import { wholePages } from '../whole-pages.ts';
import './figure-plate.ts';
import type { FigurePlate } from './figure-plate.ts';
import './go-to-value.ts';
import type { GoToValue } from './go-to-value.ts';
import './harmonic-ledger.ts';
import './listening-strip.ts';
import type { ListeningStrip } from './listening-strip.ts';
import './margin-column.ts';
import type { MarginColumn } from './margin-column.ts';
import './path-strip.ts';
import './stage-sheet.ts';
import './state-line.ts';
import './title-line.ts';
import type { TitleLine } from './title-line.ts';
import { layout } from '../styles/layout.ts';

export class StageBench extends BenchElement {
  static override properties = { ...BenchElement.properties, bench: { attribute: false }, engine: { attribute: false }, loops: { attribute: false }, dragging: { state: true }, plate: { reflect: true } };
  declare bench: Bench;
  declare engine: Engine;
  declare loops: readonly LoopEntry[];
  declare dragging: boolean;
  /** Where the plate of a figure stands: beside the stage, or in its place; null: none is open. */
  declare plate: 'beside' | 'alone' | null;

  static override styles = [base, layout, css`:host([dropping]) { outline: 3px dashed var(--pen); outline-offset: -6px; }`];

  readonly #hold = new MomentarySwitch();
  readonly #gone: (() => void)[] = [];
  #frame = 0;
  #clicked: readonly EventTarget[] = [];
  #spaceTaken = false;
  #docks: ResizeObserver | null = null;

  override connectedCallback(): void {
    super.connectedCallback();
    this.state = this.bench.state;
    this.#measure();
    const stop = new AbortController();
    const { signal } = stop;
    this.#gone.push(() => stop.abort(), this.bench.subscribe((before, after, action) => this.#follow(before, after, action)));
    this.addEventListener('bench-action', (event) => this.bench.dispatch((event as BenchActionEvent).detail), { signal });
    addEventListener('resize', () => this.#measure(), { signal });
    // Silence comes first, whatever else the key then closes or cancels; every other key only where nobody else took it.
    addEventListener('keydown', (event) => event.key === 'Escape' && this.bench.dispatch({ kind: 'silence' }), { signal, capture: true });
    addEventListener('pointerdown', (event) => { this.#clicked = event.composedPath(); }, { signal, capture: true });
    addEventListener('keydown', (event) => { if (event.key === 'Tab') this.#clicked = []; }, { signal, capture: true });
    addEventListener('keydown', (event) => this.#keyDown(event), { signal });
    addEventListener('keyup', (event) => this.#keyUp(event), { signal });
    addEventListener('blur', (event) => this.#switchTo(this.#hold.release(event.timeStamp)), { signal });
    addEventListener('dragover', (event) => this.#dragOver(event), { signal });
    addEventListener('dragleave', (event) => event.relatedTarget === null && this.#showDropping(false), { signal });
    addEventListener('drop', (event) => void this.#dropped(event), { signal });
    const draw = (nowMs: number) => {
      this.#frame = requestAnimationFrame(draw);
      this.#drawReadings(nowMs);
    };
    this.#frame = requestAnimationFrame(draw);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    cancelAnimationFrame(this.#frame);
    this.#docks?.disconnect();
    for (const end of this.#gone.splice(0)) end();
  }

  override render() {
    const { state, shape, low } = this;
    const { live } = state;
    // Nothing else is drawn while something is compared blind.
    if (live.blind !== null) return html`<blind-sheet .state=${state} .shape=${shape} .low=${low}></blind-sheet>`;
    if (live.wholePage !== null) return wholePages[live.wholePage]({ state, shape, low });
    const shelf = shelves.find(({ name }) => name === live.shelf);
    return html`
      <title-line .state=${state} .shape=${shape} .low=${low}></title-line>
      ${live.goToOpen ? html`<go-to-value .state=${state} .shape=${shape} .low=${low} @value-chosen=${this.#goTo}></go-to-value>` : nothing}
      <nav aria-label="Path"><path-strip .state=${state} .shape=${shape} .low=${low}></path-strip></nav>
      ${shelf ? html`<div class="shelf" @keydown=${this.#shelfKey}>${shelf.render({ state, shape, low })}</div>` : nothing}
      <div class="main">
        <main>${live.ticket === null ? nothing : html`<ticket-slip .state=${state} .shape=${shape} .low=${low}></ticket-slip>`}<stage-sheet ?hidden=${this.plate === 'alone'} .state=${state} .shape=${shape} .low=${low} .beside=${this.plate === 'beside'}></stage-sheet>${this.plate === 'alone' ? this.#plate() : nothing}</main>
        ${this.plate === 'beside' ? this.#plate() : nothing}
        <section class="ledger" aria-label="Harmonics"><harmonic-ledger .state=${state} .shape=${shape} .low=${low}></harmonic-ledger></section>
        <margin-column .state=${state} .shape=${shape} .low=${low} .plated=${this.plate !== null}></margin-column>
      </div>
      <div class="dock">
        <listening-strip .state=${state} .shape=${shape} .low=${low && shape !== 'narrow'} .loops=${this.loops}></listening-strip>
        <state-line .state=${state} .shape=${shape} .low=${low} .dragging=${this.dragging}></state-line>
      </div>`;
  }

  #plate() {
    return html`<figure-plate .state=${this.state} .shape=${this.shape} .low=${this.low} .feed=${this.engine.figures} .alone=${this.plate === 'alone'}></figure-plate>`;
  }

  protected override firstUpdated(): void {
    // In the next frame: a change of shape within the observer's own pass would be reported as a loop.
    this.#docks = new ResizeObserver(() => requestAnimationFrame(() => {
      this.#measure();
      this.#measureDocks();
    }));
    for (const dock of this.renderRoot.querySelectorAll('.dock, .ledger')) this.#docks.observe(dock);
  }

  protected override updated(changed: PropertyValues): void {
    document.documentElement.toggleAttribute('data-ready', true);
    const { look } = this.state.session;
    if (look === 'system') delete document.documentElement.dataset['look'];
    else document.documentElement.dataset['look'] = look;
    if (changed.has('shape') || changed.has('low') || changed.has('plate')) this.#measureDocks();
    const before = changed.get('state') as BenchState | undefined;
    if (before && before.live.shelf !== this.state.live.shelf) void this.#focusShelf(before.live.shelf);
    if (before && before.live.wholePage !== this.state.live.wholePage) void this.#focusWholePage();
    if (before && before.live.blind?.kind !== this.state.live.blind?.kind) void this.#focusBlind();
    if (before && !before.live.goToOpen && this.state.live.goToOpen) void this.#focusGoTo();
  }

  /** Width and height decide the shape, counted in the reader's own text size; a low page folds its docks whatever its width. */
  #measure(): void {
    const scale = textScale();
    const clientWidth = document.documentElement.clientWidth / scale;
    const clientHeight = document.documentElement.clientHeight / scale;
    this.low = clientHeight < shapeLimits.lowHeight;
    const byWidth = clientWidth < shapeLimits.narrow ? 'narrow' : clientWidth < shapeLimits.docked ? 'docked' : clientWidth < shapeLimits.folded ? 'folded' : 'wide';
    const alone = clientHeight < shapeLimits.ledgerHeight && byWidth !== 'narrow' ? 'docked' : byWidth;
    const open = this.state.session.figures.open !== null;
    this.plate = !open ? null : clientWidth >= besidePlatePx.docked ? 'beside' : 'alone';
    // Beside a plate the margin is folded; where stage, plate and ledger have no room side by side, the ledger docks.
    this.shape = this.plate !== 'beside' || alone === 'docked' ? alone : clientWidth >= besidePlatePx.ledger ? 'folded' : 'docked';
  }

  /** The ledger stands on the listening strip; focus keeps clear of both. */
  #measureDocks(): void {
    const height = (name: string) => this.renderRoot.querySelector<HTMLElement>(name)?.offsetHeight ?? 0;
    const dock = height('.dock');
    const ledgerDocks = this.shape === 'docked' || this.shape === 'narrow';
    this.style.setProperty('--dock', `${dock}px`);
    document.documentElement.style.setProperty('--docks', `${dock + (ledgerDocks ? height('.ledger') : 0)}px`);
    this.#figurePlate?.measure();
  }

  #follow(before: BenchState, after: BenchState, action: Action): void {
    this.state = after;
    if (before.session.figures.open !== after.session.figures.open) this.#figureOpened(before, after);
    this.dragging = this.bench.dragging;
    if (action.kind === 'freeze') downloadSetting(after.setting);
    if (action.kind === 'save-log') this.#saveLog();
    if (action.kind === 'blind-save') this.#saveBlindRecord();
    this.engine.follow(before, after, action);
  }

  #saveLog(): void {
    const log = this.engine.playingLog();
    if (log) download(writeEvents(log), `${fileStem(this.state.setting.title)}.log.json`, 'application/json');
    else this.bench.dispatch({ kind: 'message', text: this.state.session.pair ? 'There is no log while a pair of drafts is on trial.' : 'There is no log yet: it begins with the next start of a loop, and ends when a tone, a live input, the difference or blind work is heard.', urgent: false });
  }

  #saveBlindRecord(): void {
    const { blind } = this.state.live;
    if (blind?.kind !== 'ended') return;
    const date = new Date().toISOString().slice(0, 10);
    const text = writeBlindRecord(this.state, blind, date);
    if (text !== null) download(text, `${fileStem(this.state.setting.title)}.blind.json`, 'application/json');
  }

  #drawReadings(nowMs: number): void {
    for (const name of ['listening-strip', 'state-line', 'margin-column', 'blind-sheet']) {
      this.renderRoot.querySelector<HTMLElement & DrawsReadings>(name)?.drawReadings(this.engine.readings, nowMs);
    }
  }

  #keyDown(event: KeyboardEvent): void {
    if (event.defaultPrevented) return;
    if (this.state.live.blind !== null) {
      this.#blindKey(event);
      return;
    }
    if (this.state.live.wholePage !== null) {
      this.#wholePageKey(event);
      return;
    }
    const request = requestOf(strokeOf(event, this.#clicked), this.state.session.keys);
    if (!request || request === 'silence') return;
    event.preventDefault();
    this.#spaceTaken = event.key === ' ';
    this.#perform(request, event);
  }

  /** Of a blind comparison: its own keys, which nothing switches off; a button reached by keyboard keeps Space. */
  #blindKey(event: KeyboardEvent): void {
    const { target, control, alt, repeat, key } = strokeOf(event, this.#clicked);
    if (control || alt || repeat || target === 'text' || target === 'chooser' || (key === ' ' && target === 'button-by-keyboard')) return;
    if (!this.#blindSheet?.takeKey(key)) return;
    event.preventDefault();
    this.#spaceTaken = key === ' ';
  }

  #perform(request: Exclude<KeyRequest, 'silence'>, event: KeyboardEvent): void {
    const { live } = this.state;
    switch (request) {
      case 'play-pause': return this.bench.dispatch({ kind: live.playing || live.tonePlaying ? 'pause' : 'play' });
      case 'toggle': return this.#switchTo(this.#hold.press(event.timeStamp, live.trialIn));
      case 'in': return this.#switchTo(true);
      case 'out': return this.#switchTo(false);
      case 'listen': return this.renderRoot.querySelector<ListeningStrip>('listening-strip')!.focusSurface();
      case 'tell-state': return this.bench.dispatch({ kind: 'tell', what: 'state' });
      case 'tell-harmonics': return this.bench.dispatch({ kind: 'tell', what: 'harmonics' });
      case 'figures': return this.#toFigure();
      case 'difference': return this.bench.dispatch({ kind: 'hear-difference', heard: !live.difference.heard });
      case 'go-to-value': return this.bench.dispatch({ kind: 'go-to', open: true });
      case 'undo': case 'redo': case 'freeze': return this.bench.dispatch({ kind: request });
    }
  }

  /** To the plate; from within it, to the next one. */
  #toFigure(): void {
    const plate = this.#figurePlate;
    const { open, last } = this.state.session.figures;
    if (plate && !plate.matches(':focus-within')) return plate.focusHeading();
    const next = open === null ? last ?? figureViews[0]?.id : figureViews[(1 + figureViews.findIndex(({ id }) => id === open)) % figureViews.length]?.id;
    if (next !== undefined) this.bench.dispatch({ kind: 'open-figure', view: next });
  }

  get #figurePlate(): FigurePlate | null {
    return this.renderRoot.querySelector<FigurePlate>('figure-plate');
  }

  /** The focus goes to the plate that opens, and back to where the figures are listed when it closes. */
  #figureOpened(before: BenchState, after: BenchState): void {
    this.#measure();
    const { open } = after.session.figures;
    if (open !== null && before.session.figures.open !== null) return;
    void this.updateComplete.then(async () => {
      await this.#figurePlate?.updateComplete;
      if (open !== null) this.#figurePlate?.focusHeading();
      else await this.renderRoot.querySelector<MarginColumn>('margin-column')?.focusFigures(before.session.figures.open);
    });
  }

  #keyUp(event: KeyboardEvent): void {
    // Some browsers press a focused button when Space goes up, whatever became of its going down.
    if (event.key === ' ' && this.#spaceTaken) event.preventDefault();
    if (event.key === ' ') this.#spaceTaken = false;
    if (event.key.toLowerCase() === this.state.session.keys.letters.toggle) this.#switchTo(this.#hold.release(event.timeStamp));
  }

  #switchTo(trialIn: boolean | null): void {
    if (trialIn !== null) this.bench.dispatch({ kind: 'switch', trialIn });
  }

  #shelfKey(event: KeyboardEvent): void {
    if (event.key === 'Escape') this.bench.dispatch({ kind: 'shelf', shelf: null });
  }

  /** To the heading of the shelf that opens; back to its button when one closes. */
  async #focusShelf(before: ShelfName | null): Promise<void> {
    await this.updateComplete;
    const { shelf } = this.state.live;
    if (shelf !== null) await focusHeadingOf(this.renderRoot.querySelector<HeadedElement>('.shelf > *'));
    else if (before !== null && this.state.live.wholePage === null) this.renderRoot.querySelector<TitleLine>('title-line')?.focusShelf(before);
  }

  get #wholePage(): HeadedElement | null {
    return this.renderRoot.querySelector<HeadedElement>('.whole');
  }

  async #focusWholePage(): Promise<void> {
    await this.updateComplete;
    await focusHeadingOf(this.#wholePage);
  }

  /** What takes the whole page may have keys of its own; Escape leaves it. */
  #wholePageKey(event: KeyboardEvent): void {
    if (this.#wholePage?.takeKey?.(event)) event.preventDefault();
    else if (event.key === 'Escape') this.bench.dispatch({ kind: 'whole-page', page: null });
  }

  get #blindSheet(): BlindSheet | null {
    return this.renderRoot.querySelector<BlindSheet>('blind-sheet');
  }

  async #focusBlind(): Promise<void> {
    await this.updateComplete;
    const sheet = this.#blindSheet;
    await sheet?.updateComplete;
    if (sheet) sheet.focusHeading();
    else this.renderRoot.querySelector<TitleLine>('title-line')?.focusBlind();
  }

  async #focusGoTo(): Promise<void> {
    const field = this.renderRoot.querySelector<GoToValue>('go-to-value');
    await field?.updateComplete;
    field?.focusField();
  }

  async #goTo(event: CustomEvent<FoundValue>): Promise<void> {
    const { stageKey, parameter } = event.detail;
    if (this.plate === 'alone') this.bench.dispatch({ kind: 'open-figure', view: null });
    this.bench.dispatch({ kind: 'open-stage', stageKey });
    this.bench.dispatch({ kind: 'go-to', open: false });
    await this.updateComplete;
    const sheet = this.renderRoot.querySelector<StageSheetElement & { updateComplete: Promise<boolean> }>('stage-sheet')!;
    await sheet.updateComplete;
    sheet.focusValue(parameter.id);
  }

  #dragOver(event: DragEvent): void {
    if (!event.dataTransfer?.types.includes('Files')) return;
    event.preventDefault();
    this.#showDropping(true);
  }

  #showDropping(shown: boolean): void {
    this.toggleAttribute('dropping', shown);
  }

  async #dropped(event: DragEvent): Promise<void> {
    this.#showDropping(false);
    const file = event.dataTransfer?.files[0];
    if (!file) return;
    event.preventDefault();
    // What is compared stays what it is.
    if (this.state.live.blind !== null || this.state.live.long.sitting !== null) return;
    try {
      this.bench.dispatch(await actionOfFile(file, await droppedHandle(event.dataTransfer!)));
    } catch (error) {
      this.bench.dispatch({ kind: 'message', text: (error as Error).message, urgent: true });
    }
  }
}
customElements.define('stage-bench', StageBench);

/** An element that comes late is waited for. */
async function focusHeadingOf(element: HeadedElement | null): Promise<void> {
  if (!element) return;
  await customElements.whenDefined(element.localName);
  await (element as HeadedElement & Partial<Pick<LitElement, 'updateComplete'>>).updateComplete;
  element.focusHeading();
}

declare global {
  interface HTMLElementTagNameMap {
    'stage-bench': StageBench;
  }
}
