/**
 * The plate of the open figure: what it is measured of, the plot, the sentence under it, what was kept, the tables behind. Draws what its feed shows, past
 * the state. Sends `open-figure`, `keep-figure`, `region`; its parts send the rest.
 */
import { html, nothing } from 'lit';
import { fileStem } from '../../documents/file-stem.ts';
import { figureViewById, figureViews } from '../../../dsp/measure/figures/index.ts';
import type { AnyFigureView, Figure } from '../../../dsp/measure/figures/index.ts';
import { figureCsv, figureSvg } from '../../plot/index.ts';
import type { KeptFigure as PlotKept } from '../../plot/index.ts';
import { download } from '../download.ts';
import { figurePng } from '../figure-picture.ts';
import type { FigureFeed, ShownFigure } from '../figure-feed.ts';
import { keptName } from '../kept-figures.ts';
import { BenchElement } from './bench-element.ts';
import { figureNumber } from './figure-list.ts';
import './figure-parameters.ts';
import { figurePlateStyles } from './figure-plate-styles.ts';
import './figure-tables.ts';
import './kept-figures.ts';
import './plot-area.ts';
import type { SpanDetail } from './plot-cursor.ts';

/** Said once of a figure that was asked for, no sooner than this after the last. */
const saidMs = 1000;
/** Above and under the plot, from the title of the page to the buttons, but for the values asked for. */
const aroundPlotPx = 344;
const oneLinePx = 28;
const leastPlotPx = 240;
const leastPanelPx = 190;
const mostPlotPx = 640;
const leastLowPx = 160;
/** The sheet’s own edges, and what is kept clear above and below a focus. */
const edgesPx = 40;

export class FigurePlate extends BenchElement {
  static override properties = { ...BenchElement.properties, feed: { attribute: false }, alone: { type: Boolean, reflect: true }, shown: { state: true }, plotPx: { state: true }, tableOpen: { state: true }, said: { state: true } };
  static override styles = figurePlateStyles;

  declare feed: FigureFeed;
  /** A page of its own: the stage is not beside it. */
  declare alone: boolean;
  declare private shown: ShownFigure | null;
  /** Height of the plot that leaves its sentence and its buttons in sight; null: as the plot finds it. */
  declare private plotPx: number | null;
  declare private tableOpen: boolean;
  /** For those who do not see it arrive. */
  declare private said: string;

  /** The reader asked for this figure, or for another value of it, and has not been told yet that it is there. */
  #untold = true;
  #toldMs = -Infinity;
  #stopFeed: () => void = () => undefined;
  #stopResize = new AbortController();

  constructor() {
    super();
    this.shown = null;
    this.alone = this.tableOpen = false;
    this.said = '';
    this.plotPx = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (this.hasUpdated) this.#listen();
    this.#stopResize = new AbortController();
    addEventListener('resize', () => this.measure(), { signal: this.#stopResize.signal });
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#stopFeed();
    this.#stopResize.abort();
  }

  /** To the plate, as a key or a button asks. */
  focusHeading(): void {
    if (this.alone) this.scrollIntoView({ block: 'start' });
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus({ preventScroll: this.alone });
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('feed')) this.#listen();
    const before = changed.get('state') as typeof this.state | undefined;
    const { figures } = this.state.session;
    if (before && (before.session.figures.open !== figures.open || before.session.figures.values !== figures.values || before.session.figures.scope !== figures.scope)) this.#untold = true;
    this.#tell();
  }

  protected override updated(): void {
    // How many lines the values take is known by now.
    void this.updateComplete.then(() => this.measure());
  }

  /** Anew, when the page or its docks have another size. */
  measure(): void {
    const docks = parseFloat(document.documentElement.style.getPropertyValue('--docks')) || 0;
    const panels = this.shown?.figure?.panels.length ?? 1;
    const askedPx = this.renderRoot.querySelector<HTMLElement>('figure-parameters')?.offsetHeight ?? oneLinePx;
    const least = panels > 1 ? panels * leastPanelPx : leastPlotPx;
    const besidePx = Math.round(Math.min(mostPlotPx, Math.max(least, innerHeight - docks - aroundPlotPx - askedPx)));
    // A low page has its plot whole between its edges.
    this.plotPx = !this.alone ? besidePx : this.low && panels === 1 ? Math.max(leastLowPx, innerHeight - docks - edgesPx) : null;
  }

  #listen(): void {
    this.#stopFeed();
    this.#stopFeed = this.feed.subscribe(() => { this.shown = this.feed.shown; });
    this.shown = this.feed.shown;
  }

  #tell(): void {
    const { shown } = this;
    const now = performance.now();
    if (!this.#untold || shown === null || shown.updating || now - this.#toldMs < saidMs) return;
    this.#untold = false;
    this.#toldMs = now;
    this.said = shown.figure?.caption ?? shown.refusal ?? '';
  }

  protected override render(): unknown {
    const view = this.#view;
    if (!view) return nothing;
    const shown = this.shown?.view === view.id ? this.shown : null;
    const figure = shown?.figure ?? null;
    return html`<section aria-label=${`${figureNumber(view)} ${view.title}`}>
      ${this.#heading(view, shown)}
      <figure-parameters .state=${this.state} .shape=${this.shape} .low=${this.low} .view=${view}></figure-parameters>
      ${shown?.refusal ? html`<p class="sentence error">${shown.refusal}</p>` : nothing}
      ${figure ? this.#drawn(view, figure) : shown?.refusal ? nothing : html`<div class="blank"></div>`}
      <kept-figures .state=${this.state} .shape=${this.shape} .low=${this.low} .view=${view.id}></kept-figures>
      ${figure ? html`${this.#tables(figure)}${figure.remarks.map((sentence) => html`<p class="note remark">${sentence}</p>`)}` : nothing}
      <div class="unseen" role="status">${this.said}</div>
    </section>`;
  }

  get #view(): AnyFigureView | undefined {
    const { open } = this.state.session.figures;
    return open === null ? undefined : figureViewById(open);
  }

  #heading(view: AnyFigureView, shown: ShownFigure | null): unknown {
    const keep = html`<button class="boxed" aria-disabled=${!this.#canKeep} title="Leaves these curves on the plot, with their setting, while you change values" @click=${() => this.#keep(view)}>Keep</button>`;
    return html`${this.alone ? html`<div class="heading"><button class="boxed" @click=${this.#close}>Back to stage</button><span class="spacer"></span>${keep}</div>` : nothing}
      <div class="heading">
        <h2 id="heading" tabindex="-1">Fig.<span class="unseen"> ${1 + figureViews.indexOf(view)} ${view.title}</span></h2>
        <select aria-label="figure" title=${view.help} @change=${(event: Event) => this.send({ kind: 'open-figure', view: (event.target as HTMLSelectElement).value })}>
          ${figureViews.map((each, index) => html`<option value=${each.id} .selected=${each === view}>${1 + index} ${each.title}</option>`)}
        </select>
        <span class="spacer"></span>
        <span class="computed note progress">${progressWords(shown)}</span>
        ${this.alone ? nothing : html`${keep}<button class="boxed" @click=${this.#close}>Close</button>`}
      </div>`;
  }

  #drawn(view: AnyFigureView, figure: Figure): unknown {
    const { panels, caption } = figure;
    return html`
      ${panels.length === 0 ? nothing : html`<plot-area .heightPx=${this.plotPx} .figure=${figure} .kept=${this.#kept(view)} @span-selected=${this.#spanSelected}></plot-area>`}
      <p class="caption">${caption}</p>
      <div class="tools">
        <span class="exports"><span class="pencil" aria-hidden="true">save as</span>
        ${panels.length === 0 ? nothing : html`<button aria-label="Save as SVG" @click=${() => download(this.#svg(view, figure), this.#fileName(view, 'svg'), 'image/svg+xml')}>SVG</button>
        <button aria-label="Save as PNG" @click=${() => void this.#savePng(view, figure)}>PNG</button>`}
        <button aria-label="Save as CSV" ?disabled=${figure.tables.length === 0} @click=${() => download(`${figureCsv(figure)}\r\n`, this.#fileName(view, 'csv'), 'text/csv')}>CSV</button></span>
      </div>`;
  }

  #tables({ tables, panels }: Figure): unknown {
    if (tables.length === 0) return nothing;
    const table = html`<figure-tables .state=${this.state} .shape=${this.shape} .low=${this.low} .tables=${tables}></figure-tables>`;
    // A figure that is a table alone has nothing to stand before it.
    if (panels.length === 0) return table;
    return html`<button class="disclosure" aria-expanded=${this.tableOpen} @click=${() => { this.tableOpen = !this.tableOpen; }}>Table</button>
      ${this.tableOpen ? table : nothing}`;
  }

  #kept(view: AnyFigureView): readonly PlotKept[] {
    return this.state.session.kept.filter((kept) => kept.view === view.id).map((kept) => ({ label: keptName(kept, this.state), figure: kept.figure }));
  }

  #close(): void {
    this.send({ kind: 'open-figure', view: null });
  }

  get #canKeep(): boolean {
    return this.shown?.updating === false && this.shown.figure !== null && this.shown.figure.panels.length > 0;
  }

  /** Stays focusable while it cannot act: the figure is updated as values change. */
  #keep(view: AnyFigureView): void {
    if (this.#canKeep) this.send({ kind: 'keep-figure', view: view.id, figure: this.shown!.figure!, keptAt: localTime(new Date()) });
  }

  #svg(view: AnyFigureView, figure: Figure): string {
    return figureSvg(figure, { kept: this.#kept(view) });
  }

  async #savePng(view: AnyFigureView, figure: Figure): Promise<void> {
    const name = this.#fileName(view, 'png');
    try {
      download(await figurePng(figure, { kept: this.#kept(view) }), name, 'image/png');
    } catch (error) {
      this.send({ kind: 'message', text: `${name} was not saved: ${error instanceof Error ? error.message : String(error)}. Save the SVG instead.`, urgent: true });
    }
  }

  #fileName(view: AnyFigureView, ending: string): string {
    return `${fileStem(this.state.setting.title)}-${view.id}.${ending}`;
  }

  /** What is dragged over a panel in seconds of the loop is what plays from now on. */
  #spanSelected({ detail: { from, to } }: CustomEvent<SpanDetail>): void {
    this.send({ kind: 'region', region: { startSeconds: Math.max(0, Math.min(from, to)), endSeconds: Math.max(from, to) } });
  }
}

/** "updating, 3 of 8 parts"; empty when all is there. */
function progressWords(shown: ShownFigure | null): string {
  if (shown?.refusal) return '';
  if (shown === null) return 'updating';
  if (!shown.updating) return '';
  return shown.parts > 1 ? `updating, ${shown.done} of ${shown.parts} parts` : 'updating';
}

/** ISO date and time where the reader is, to the minute. */
function localTime(now: Date): string {
  const two = (number: number) => String(number).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())} ${two(now.getHours())}:${two(now.getMinutes())}`;
}

customElements.define('figure-plate', FigurePlate);

declare global {
  interface HTMLElementTagNameMap {
    'figure-plate': FigurePlate;
  }
}
