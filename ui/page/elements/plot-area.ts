/**
 * Draws a figure's panels and reads them at a cursor moved by mouse, touch or keys. Left and right step along the points of a line (Shift: ten), Home and End go to its ends,
 * up and down to the next line; the values of all lines stand in a row beneath. On a panel that `selects`, a span is dragged or its ends are set by S and E.
 * Sends `cursor-moved` and `span-selected`; with a `handle` given, moving sends `handle-moved` instead of moving a cursor.
 *
 * It is an SVG: a redraw of ten lines of 500 points fits several times into a frame, and forced colours, zoom and print are the browser's own.
 */
import { LitElement, html, nothing, svg } from 'lit';
import type { Figure } from '../../../dsp/measure/figures/index.ts';
import { buildScene, readAt, spokenReading, writeReading } from '../../plot/index.ts';
import type { DrawnTrace, KeptFigure, LabelPlaces, PlotOptions, Scene, ScenePanel } from '../../plot/index.ts';
import { lessMotion } from './bench-element.ts';
import { textScale } from '../styles/base.ts';
import { plotAreaStyles } from './plot-area-styles.ts';
import { PlotCursor } from './plot-cursor.ts';
import type { CursorDetail, HandleDetail, KeySteps, PlotGround, PlotHandle, SpanDetail } from './plot-cursor.ts';
import { RoomObserver } from './room-observer.ts';
import { drawItem } from './scene-drawing.ts';

/** Shapes of the owner's own on a panel. */
export type PanelDrawing = (panel: ScenePanel, index: number) => unknown;

/** Padding of the sheet at either side, px, as its style has it. */
const padAcross = 8;
const leastRoomPx = 120;
/** A panel's height by the width of the plot, in px at the usual size of type; of several each is lower. */
const shape = { share: 0.62, least: 280, most: 440, each: 228 } as const;
/** Type is as large as notes are on the page, rem. */
const [typeRem, usualTypePx] = [0.8125, 13];
/** Between drawings under reduced motion. */
const calmMs = 250;

export class PlotArea extends LitElement implements PlotGround {
  static override styles = plotAreaStyles;
  static override properties = {
    figure: { attribute: false }, kept: { attribute: false }, hiddenTraces: { attribute: false }, heightPx: { attribute: false }, handle: { attribute: false },
    behind: { attribute: false }, over: { attribute: false }, keySteps: { attribute: false }, speak: { attribute: false }, plot: { attribute: false }, silent: { type: Boolean },
    roomPx: { state: true },
  };

  declare figure: Figure | null;
  /** Drawn thin behind it. */
  declare kept: readonly KeptFigure[];
  /** Ids of lines that are not drawn. */
  declare hiddenTraces: ReadonlySet<string>;
  /** Height of the drawing; null: by its width and panels. */
  declare heightPx: number | null;
  declare handle: PlotHandle | null;
  declare behind: PanelDrawing | null;
  declare over: PanelDrawing | null;
  /** Another way for the keys along x; null: from point to point. */
  declare keySteps: KeySteps | null;
  /** Another reading than that of one line. */
  declare speak: ((x: number) => string) | null;
  declare plot: Partial<PlotOptions>;
  /** Without the row of values: the owner shows them. */
  declare silent: boolean;
  declare private roomPx: number;

  scene: Scene | null = null;
  readonly #cursor = new PlotCursor(this);
  #places: LabelPlaces = new Map();
  #builtMs = -Infinity;
  #later: ReturnType<typeof setTimeout> | undefined;
  readonly #room = new RoomObserver(this, (widthPx) => { this.roomPx = widthPx; });

  constructor() {
    super();
    this.figure = null;
    this.kept = [];
    this.hiddenTraces = new Set();
    this.heightPx = null;
    this.handle = null;
    this.behind = null;
    this.over = null;
    this.keySteps = null;
    this.speak = null;
    this.plot = {};
    this.silent = false;
    this.roomPx = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#room.observe();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#room.disconnect();
    clearTimeout(this.#later);
    this.#later = undefined;
    this.#cursor.giveUp();
  }

  /** Puts the focus on the cursor. */
  focusCursor(): void {
    this.renderRoot.querySelector<HTMLElement>('.cursor')?.focus();
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (!['figure', 'kept', 'hiddenTraces', 'heightPx', 'plot', 'roomPx'].some((name) => changed.has(name))) return;
    // Only a figure that goes on changing is slowed down, not a resize.
    const waitMs = changed.size === 1 && changed.has('figure') && Boolean(changed.get('figure')) && lessMotion() ? this.#builtMs + calmMs - performance.now() : 0;
    if (waitMs > 0 && this.scene) {
      this.#later ??= setTimeout(() => {
        this.#later = undefined;
        this.#build();
        this.requestUpdate();
      }, waitMs);
      return;
    }
    this.#build();
  }

  #build(): void {
    const { figure } = this;
    const widthPx = this.roomPx - 2 * padAcross;
    this.#builtMs = performance.now();
    if (figure === null || figure.panels.length === 0 || widthPx < leastRoomPx) {
      this.scene = null;
      return;
    }
    const typePx = 16 * typeRem * textScale();
    const alone = Math.min(shape.most, Math.max(shape.least, shape.share * widthPx));
    const heightPx = this.heightPx ?? ((figure.panels.length === 1 ? alone : shape.each * figure.panels.length) * typePx) / usualTypePx;
    this.scene = buildScene(figure, { typePx, ...this.plot, widthPx, heightPx, kept: this.kept, hidden: this.hiddenTraces, labelPlaces: this.#places });
    this.#places = this.scene.labelPlaces;
  }

  protected override render(): unknown {
    const { scene, figure } = this;
    if (scene === null || figure === null) return nothing;
    const { widthPx, heightPx, items, panels } = scene;
    return html`
      <div class="sheet">
        <svg width=${widthPx} height=${heightPx} viewBox="0 0 ${widthPx} ${heightPx}" role="img" aria-label=${`${figure.title}. ${figure.caption}`}>
          ${this.behind ? panels.map((panel, index) => this.behind!(panel, index)) : nothing}
          <g aria-hidden="true">${items.map(drawItem)}</g>
          ${this.over ? panels.map((panel, index) => this.over!(panel, index)) : nothing}
          ${this.#spans(panels)}${this.#lines(panels)}
        </svg>
        ${this.#hand()}
      </div>
      ${this.silent ? nothing : this.#readings(panels)}`;
  }

  /** What takes focus, keys and pointers. */
  #hand(): unknown {
    const { handle } = this;
    const place = this.#cursor.place;
    const axis = (place?.panel ?? this.scene!.panels[0]!).x.axis;
    const x = handle?.x ?? place?.x;
    const selects = this.scene!.panels.some((panel) => panel.selects);
    return html`<div class=${handle ? 'cursor handled' : 'cursor'} role="slider" tabindex="0" aria-label=${handle?.name ?? `cursor on ${this.figure!.title}`} aria-describedby="keys"
        aria-valuemin=${Math.min(axis.from, axis.to)} aria-valuemax=${Math.max(axis.from, axis.to)} aria-valuenow=${x ?? axis.from} aria-valuetext=${this.#spoken(x)}
        @keydown=${this.#key} @pointerdown=${(event: PointerEvent) => this.#cursor.press(event)} @pointermove=${(event: PointerEvent) => this.#cursor.pull(event)}
        @pointerup=${(event: PointerEvent) => this.#cursor.release(event)} @pointercancel=${() => this.#cursor.giveUp()}
        @pointerleave=${({ pointerType }: PointerEvent) => this.#cursor.leave(pointerType === 'touch' || this.matches(':focus-within'))}></div>
      <span class="unseen" id="keys">${handle ? 'arrow keys move it, Page by more' : `left and right step along a line, with Shift by ten points, up and down go to the next line${selects ? ', S and E set the ends of a span' : ''}`}</span>`;
  }

  #spoken(x: number | undefined): string {
    if (x === undefined) return 'not placed';
    if (this.speak) return this.speak(x);
    const place = this.#cursor.place;
    return place?.drawn ? spokenReading(place.drawn, place.panel, x) : writeReading(x, this.scene!.panels[0]!.x.axis);
  }

  /** Panels that share the x axis share the cursor. */
  #sharing(panels: readonly ScenePanel[]): readonly ScenePanel[] {
    const place = this.#cursor.place;
    if (place === null) return [];
    const { label, unit, from, to } = place.panel.x.axis;
    return panels.filter(({ x: { axis } }) => axis.label === label && axis.unit === unit && axis.from === from && axis.to === to);
  }

  #lines(panels: readonly ScenePanel[]): unknown {
    const place = this.#cursor.place;
    const x = this.handle?.x ?? place?.x;
    if (x === undefined) return nothing;
    const on = this.handle ? panels.slice(0, 1) : this.#sharing(panels);
    const upright = (panel: ScenePanel): unknown => {
      const at = panel.x.place(x);
      return at >= panel.left - 0.5 && at <= panel.right + 0.5 ? svg`<line class="cursor-line" x1=${at} x2=${at} y1=${panel.top} y2=${panel.bottom} />` : nothing;
    };
    return svg`${on.map(upright)}${place?.drawn && !this.speak ? this.#point(place.drawn, place.panel, x) : nothing}`;
  }

  /** A ring on the line that is read. */
  #point(drawn: DrawnTrace, panel: ScenePanel, x: number): unknown {
    const y = drawn.scale.place(readAt(drawn, panel, x));
    return y >= panel.top - 0.5 && y <= panel.bottom + 0.5 ? svg`<circle class="cursor-point" cx=${panel.x.place(x)} cy=${y} r="4.5" />` : nothing;
  }

  #spans(panels: readonly ScenePanel[]): unknown {
    const { span, start } = this.#cursor;
    const panel = span && panels[span.panel];
    const ends = panel && [panel.x.place(span.from), panel.x.place(span.to)].map((px) => Math.min(panel.right, Math.max(panel.left, px))).sort((a, b) => a - b);
    const begun = start && panels[start.panel];
    const at = begun?.x.place(start!.x);
    return svg`${panel && ends ? svg`<rect class="chosen-span" x=${ends[0]!} width=${ends[1]! - ends[0]!} y=${panel.top} height=${panel.bottom - panel.top} />` : nothing}
      ${begun ? svg`<line class="span-end" x1=${at!} x2=${at!} y1=${begun.top} y2=${begun.bottom} />` : nothing}`;
  }

  /** All lines at the cursor, that which is read underlined; those of each kept figure in a row of their own. */
  #readings(panels: readonly ScenePanel[]): unknown {
    const place = this.#cursor.place;
    if (place === null) return html`<div class="readings note"><p class="pencil">Point at the figure, or use its arrow keys, to read the lines.</p></div>`;
    const values = this.#sharing(panels).flatMap((panel) => panel.traces.map((drawn) => ({ drawn, read: readAt(drawn, panel, place.x) })));
    const groups = [null, ...this.kept.map(({ label }) => label)].map((kept) => ({ kept, of: values.filter(({ drawn }) => drawn.kept === kept) }));
    return html`<div class="readings note">${groups.filter(({ of }) => of.length > 0).map(({ kept, of }) => html`<p><span class="at">${kept ?? writeReading(place.x, place.panel.x.axis)}</span>
      ${of.map(({ drawn, read }) => html`<span class=${drawn === place.drawn ? 'chosen' : ''}>${drawn.trace.label} ${Number.isNaN(read) ? '–' : writeReading(read, drawn.scale.axis)}</span> `)}</p>`)}</div>`;
  }

  #key(event: KeyboardEvent): void {
    if (!this.#cursor.key(event)) return;
    event.preventDefault();
    event.stopPropagation();
  }

  placeOf({ clientX, clientY }: PointerEvent): { readonly x: number; readonly y: number } {
    const { left, top, width, height } = this.renderRoot.querySelector('svg')!.getBoundingClientRect();
    const { widthPx, heightPx } = this.scene!;
    return { x: ((clientX - left) * widthPx) / width, y: ((clientY - top) * heightPx) / height };
  }

  send(name: 'cursor-moved' | 'span-selected' | 'handle-moved', detail: CursorDetail | SpanDetail | HandleDetail | null): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

customElements.define('plot-area', PlotArea);

declare global {
  interface HTMLElementTagNameMap {
    'plot-area': PlotArea;
  }
  interface HTMLElementEventMap {
    'cursor-moved': CustomEvent<CursorDetail | null>;
    'span-selected': CustomEvent<SpanDetail>;
    'handle-moved': CustomEvent<HandleDetail>;
  }
}
