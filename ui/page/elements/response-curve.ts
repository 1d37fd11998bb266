/**
 * Level over frequency: lines, read-outs where they happen, the loop's spectrum behind them, a cursor for keys and pointers, one sentence, and the same as a table. While
 * `sweptHz` is given the cursor is the centre of a bell that is searched with: moving it sends `curve-swept` (detail: hz and phase) instead of moving the cursor.
 */
import { LitElement, html, nothing } from 'lit';
import type { Figure } from '../../../dsp/measure/figures/index.ts';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import type { CurveMark, StageCurve } from '../../../dsp/stages/contract.ts';
import type { PlotOptions, ScenePanel } from '../../plot/index.ts';
import type { GesturePhase } from '../state.ts';
import './plot-area.ts';
import type { CursorDetail, HandleDetail, PlotHandle } from './plot-cursor.ts';
import { curveFigure, highestHz, lowestHz, marksInSight } from './response-curve-figure.ts';
import { markShape, partialsOn, spectrumBehind } from './response-curve-shapes.ts';
import type { ShownPartial } from './response-curve-shapes.ts';
import { responseCurveStyles } from './response-curve-styles.ts';
import { curveTable, readAt } from './response-curve-words.ts';
import { RoomObserver } from './room-observer.ts';

export interface SweepDetail {
  readonly hz: number;
  readonly phase: GesturePhase;
}

const [wideHeightPx, narrowHeightPx, narrowPx] = [224, 200, 480];
/** Octaves of a key step, of a fine one, of a page. */
const keyOctaves = { step: 1 / 12, fine: 1 / 48, page: 1 } as const;
/** Where the keys begin. */
const firstHz = 1000;
const bare: Partial<PlotOptions> = { bareMarks: true };

const tidy = (hz: number): number => Number(hz.toPrecision(4));

/** Along the axis by octaves. */
function keySteps(x: number | null, key: string, shift: boolean): number | null {
  const octaves = shift ? keyOctaves.fine : keyOctaves.step;
  const from = x ?? firstHz;
  const moved = ({
    ArrowRight: from * 2 ** octaves, ArrowUp: from * 2 ** octaves, ArrowLeft: from * 2 ** -octaves, ArrowDown: from * 2 ** -octaves,
    PageUp: from * 2 ** keyOctaves.page, PageDown: from * 2 ** -keyOctaves.page, Home: lowestHz, End: highestHz,
  } as Readonly<Record<string, number>>)[key];
  return moved === undefined ? null : tidy(Math.min(highestHz, Math.max(lowestHz, moved)));
}

export class ResponseCurve extends LitElement {
  static override styles = responseCurveStyles;
  static override properties = {
    curve: { attribute: false }, name: { attribute: false }, spectrum: { attribute: false }, section: { attribute: false }, sweptHz: { attribute: false }, partials: { attribute: false },
    roomPx: { state: true }, cursorHz: { state: true },
  };

  declare curve: StageCurve | null;
  /** "Equaliser": named in the description. */
  declare name: string;
  /** Of the loop; null: none is drawn. */
  declare spectrum: LoopSpectrum | null;
  /** The section whose read-outs are in words; null: all. */
  declare section: number | null;
  /** Centre of the bell that is swept; null: the cursor only reads. */
  declare sweptHz: number | null;
  declare partials: readonly ShownPartial[];
  declare private roomPx: number;
  declare private cursorHz: number | null;

  #figure: Figure | null = null;
  #handle: PlotHandle | null = null;
  readonly #room = new RoomObserver(this, (widthPx) => { this.roomPx = widthPx; });

  constructor() {
    super();
    this.curve = null;
    this.name = 'stage';
    this.spectrum = null;
    this.section = null;
    this.sweptHz = null;
    this.partials = [];
    this.roomPx = 0;
    this.cursorHz = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#room.observe();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#room.disconnect();
  }

  /** Puts the focus on the cursor. */
  focusCursor(): void {
    this.renderRoot.querySelector('plot-area')?.focusCursor();
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('sweptHz')) this.#handle = this.sweptHz === null ? null : { x: this.sweptHz, name: 'centre of the searching bell' };
    if (this.curve === null || !['curve', 'name', 'spectrum', 'section'].some((each) => changed.has(each))) return;
    const told = this.#marks.filter(({ kind, section }) => kind !== 'turnover' && (this.section === null || section === undefined || section === this.section));
    this.#figure = curveFigure(this.curve, this.name, this.spectrum, told);
  }

  get #marks(): readonly CurveMark[] {
    return marksInSight(this.curve!.marks);
  }

  get #shownHz(): number | null {
    return this.sweptHz ?? this.cursorHz;
  }

  protected override render(): unknown {
    const { curve } = this;
    if (curve === null) return nothing;
    return html`<figure>
      <plot-area silent .figure=${this.#figure} .plot=${bare} .heightPx=${this.roomPx < narrowPx ? narrowHeightPx : wideHeightPx} .handle=${this.#handle} .keySteps=${keySteps} .speak=${(hz: number) => readAt(curve, hz)}
        .behind=${(panel: ScenePanel) => (this.spectrum ? spectrumBehind(panel, this.spectrum) : nothing)}
        .over=${(panel: ScenePanel) => [...this.#marks.map((mark) => markShape(panel, mark)), partialsOn(panel, this.partials)]}
        @cursor-moved=${this.#moved} @handle-moved=${this.#swept}></plot-area>
      <figcaption class="note">${this.#shownHz === null ? curve.caption : html`<span class="read computed">${readAt(curve, this.#shownHz)}</span>`}</figcaption>
    </figure>
    <details><summary class="note">Read-outs and table</summary><div class="scroller">${curveTable(curve, this.spectrum)}</div></details>`;
  }

  #moved(event: CustomEvent<CursorDetail | null>): void {
    event.stopPropagation();
    this.cursorHz = event.detail === null ? null : tidy(event.detail.x);
  }

  #swept(event: CustomEvent<HandleDetail>): void {
    event.stopPropagation();
    const { x, phase } = event.detail;
    this.dispatchEvent(new CustomEvent<SweepDetail>('curve-swept', { detail: { hz: tidy(x), phase }, bubbles: true, composed: true }));
  }
}

customElements.define('response-curve', ResponseCurve);

declare global {
  interface HTMLElementTagNameMap {
    'response-curve': ResponseCurve;
  }
}
