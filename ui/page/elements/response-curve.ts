/**
 * Level over frequency: lines, read-outs where they happen, the loop's spectrum behind them, a cursor for keys and pointers, one sentence, and the same as a table. While
 * `sweptHz` is given the cursor is the centre of a bell that is searched with: moving it sends `curve-swept` (detail: hz and phase) instead of moving the cursor.
 */
import { LitElement, html, nothing, svg } from 'lit';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import type { CurveMark, StageCurve } from '../../../dsp/stages/contract.ts';
import type { GesturePhase } from '../state.ts';
import { decadeLines, figuredLines, highestHz, hzAt, levelLines, lowestHz, marksInSight, plotOf, tracePoints, wordsOf, writeAxisHz, xOf, yOf } from './response-curve-plot.ts';
import type { Plot } from './response-curve-plot.ts';
import { spectrumRange, spectrumTopDb } from './response-curve-spectrum.ts';
import { responseCurveStyles } from './response-curve-styles.ts';
import { curveTable, readAt } from './response-curve-words.ts';
import { RoomObserver } from './room-observer.ts';

export interface SweepDetail {
  readonly hz: number;
  readonly phase: GesturePhase;
}

/** Partials of a note, and which of them the bell holds up. */
export interface ShownPartial {
  readonly order: number;
  readonly hz: number;
  readonly within: boolean;
}

const [wideHeightPx, narrowHeightPx, narrowPx] = [224, 200, 480];
/** Octaves of a key step, of a fine one, of a page. */
const keySteps = { step: 1 / 12, fine: 1 / 48, page: 1 } as const;

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

  /** Pointer that sweeps, or null. */
  #sweeping: number | null = null;
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
    this.#sweeping = null;
  }

  /** Puts the focus on the cursor. */
  focusCursor(): void {
    this.renderRoot.querySelector<HTMLElement>('.cursor')?.focus();
  }

  get #plot(): Plot {
    return plotOf(this.curve!, this.roomPx, this.roomPx < narrowPx ? narrowHeightPx : wideHeightPx, this.spectrum !== null);
  }

  protected override render(): unknown {
    const { curve } = this;
    if (curve === null || this.roomPx < 160) return nothing;
    const plot = this.#plot;
    const marks = marksInSight(curve.marks);
    const told = marks.filter(({ section }) => this.section === null || section === undefined || section === this.section);
    return html`<figure>
      <div class="sheet">
        <svg viewBox="0 0 ${plot.widthPx} ${plot.heightPx}" height=${plot.heightPx} role="img" aria-label=${`curve of the ${this.name}: ${curve.caption}`}>
          ${this.#behind(plot)}${axes(plot)}
          ${curve.traces.toReversed().map(({ role, db, label }) => svg`<polyline class=${`trace ${role}`} data-label=${label} points=${tracePoints(plot, curve.hertz, db)} />`)}
          ${marks.map((mark) => markOf(plot, mark))}
          ${this.partials.map(({ hz, within }) => svg`<line class=${within ? 'partial within' : 'partial'} x1=${xOf(plot, hz)} x2=${xOf(plot, hz)} y1=${plot.bottom - (within ? 18 : 10)} y2=${plot.bottom} />`)}
          ${this.#cursorLine(plot)}
          ${wordsOf(plot, curve, told).map(({ text, x, y, anchor }) => svg`<text class="words" x=${x} y=${y} text-anchor=${anchor} aria-hidden="true">${text}</text>`)}
        </svg>
        ${this.#cursor(plot)}
      </div>
      <figcaption class="note">${this.#shownHz === null ? curve.caption : html`<span class="read computed">${readAt(curve, this.#shownHz)}</span>`}</figcaption>
    </figure>
    <details><summary class="note">Read-outs and table</summary><div class="scroller">${curveTable(curve, this.spectrum)}</div></details>`;
  }

  get #shownHz(): number | null {
    return this.sweptHz ?? this.cursorHz;
  }

  /** The loop's long-term spectrum, fine as a ground and in third octaves as steps, on an axis of its own at the right. */
  #behind(plot: Plot): unknown {
    const { spectrum } = this;
    if (spectrum === null) return nothing;
    const top = spectrumTopDb(spectrum);
    const y = (db: number): number => plot.bottom - ((plot.bottom - plot.top) * Math.min(spectrumRange, Math.max(0, db - top + spectrumRange))) / spectrumRange;
    const x = (hz: number): number => xOf(plot, Math.min(highestHz, Math.max(lowestHz, hz)));
    const steps = (bands: LoopSpectrum['thirds']): string => bands.map(({ fromHz, toHz, db }) => `${x(fromHz).toFixed(1)},${y(db).toFixed(1)} ${x(toHz).toFixed(1)},${y(db).toFixed(1)}`).join(' ');
    // Fine bands are narrower: shown as high as third octaves of the same density would be, nine decibels up, so that the two lie over one another.
    const raised = spectrum.fine.map((band) => ({ ...band, db: band.db + 10 * Math.log10(spectrum.fine.length / spectrum.thirds.length) }));
    return svg`<polygon class="fine" points=${`${plot.left},${plot.bottom} ${steps(raised)} ${plot.right},${plot.bottom}`} /><polyline class="thirds" points=${steps(spectrum.thirds)} />
      ${[0, 20, 40].map((below) => svg`<text class="axis" x=${plot.right + 4} y=${y(top - below) + 4} aria-hidden="true">${String(top - below).replace('-', '−')}</text>`)}`;
  }

  #cursorLine(plot: Plot): unknown {
    const hz = this.#shownHz;
    if (hz === null) return nothing;
    return svg`<line class="cursor-line" x1=${xOf(plot, hz)} x2=${xOf(plot, hz)} y1=${plot.top} y2=${plot.bottom} />`;
  }

  #cursor(plot: Plot): unknown {
    const swept = this.sweptHz !== null;
    const hz = this.#shownHz;
    return html`<div class=${swept ? 'cursor sweeping' : 'cursor'} role="slider" tabindex="0" aria-label=${swept ? 'centre of the searching bell' : `cursor on the curve of the ${this.name}`}
      aria-valuemin=${lowestHz} aria-valuemax=${highestHz} aria-valuenow=${Math.round(hz ?? 1000)} aria-valuetext=${hz === null ? 'not placed' : readAt(this.curve!, hz)}
      @keydown=${this.#key}
      @pointerdown=${(event: PointerEvent) => this.#press(event, plot)} @pointermove=${(event: PointerEvent) => this.#pull(event, plot)}
      @pointerup=${(event: PointerEvent) => this.#release(event, plot)} @pointercancel=${() => this.#giveUp()}
      @pointerleave=${() => { if (this.#sweeping === null && !this.matches(':focus-within')) this.cursorHz = null; }}></div>`;
  }

  #key(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const octaves = event.shiftKey ? keySteps.fine : keySteps.step;
    const from = this.#shownHz ?? 1000;
    const moved = ({
      ArrowRight: from * 2 ** octaves, ArrowUp: from * 2 ** octaves, ArrowLeft: from * 2 ** -octaves, ArrowDown: from * 2 ** -octaves,
      PageUp: from * 2 ** keySteps.page, PageDown: from * 2 ** -keySteps.page, Home: lowestHz, End: highestHz,
    } as Readonly<Record<string, number>>)[event.key];
    if (moved === undefined) return;
    this.#move(Math.min(highestHz, Math.max(lowestHz, moved)), 'step');
    event.preventDefault();
    event.stopPropagation();
  }

  #move(hz: number, phase: GesturePhase): void {
    const tidy = Number(hz.toPrecision(4));
    if (this.sweptHz === null) this.cursorHz = tidy;
    else this.dispatchEvent(new CustomEvent<SweepDetail>('curve-swept', { detail: { hz: tidy, phase }, bubbles: true, composed: true }));
  }

  #hzOf(event: PointerEvent, plot: Plot): number {
    const { left, width } = this.renderRoot.querySelector('svg')!.getBoundingClientRect();
    return hzAt(plot, ((event.clientX - left) * plot.widthPx) / width);
  }

  #press(event: PointerEvent, plot: Plot): void {
    if (event.button !== 0) return;
    if (this.sweptHz !== null) {
      this.#sweeping = event.pointerId;
      (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    }
    this.#move(this.#hzOf(event, plot), 'begin');
  }

  #pull(event: PointerEvent, plot: Plot): void {
    if (this.sweptHz === null || this.#sweeping === event.pointerId) this.#move(this.#hzOf(event, plot), 'move');
  }

  #release(event: PointerEvent, plot: Plot): void {
    if (this.#sweeping !== event.pointerId) return;
    this.#sweeping = null;
    this.#move(this.#hzOf(event, plot), 'end');
  }

  /** The system took the pointer away: the sweep ends where it stands. */
  #giveUp(): void {
    if (this.#sweeping === null) return;
    this.#sweeping = null;
    if (this.sweptHz !== null) this.#move(this.sweptHz, 'end');
  }
}

function axes(plot: Plot): unknown {
  return svg`${decadeLines.map((hz) => svg`<line class="grid" x1=${xOf(plot, hz)} x2=${xOf(plot, hz)} y1=${plot.top} y2=${plot.bottom} />`)}
    ${figuredLines(plot).map((hz) => svg`<text class="axis" x=${xOf(plot, hz)} y=${plot.heightPx - 6} text-anchor=${hz === highestHz ? 'end' : 'middle'} aria-hidden="true">${writeAxisHz(hz)}${hz === highestHz ? 'Hz' : ''}</text>`)}
    ${levelLines(plot).map((db) => svg`<line class=${db === 0 ? 'zero' : 'grid'} x1=${plot.left} x2=${plot.right} y1=${yOf(plot, db)} y2=${yOf(plot, db)} />
      <text class="axis" x=${plot.left - 6} y=${yOf(plot, db) + 4} text-anchor="end" aria-hidden="true">${db > 0 ? '+' : db < 0 ? '−' : ''}${Math.abs(db)}${db === 0 ? ' dB' : ''}</text>`)}`;
}

/** A span as a bracket, points by shape: a cross where it is steepest, a triangle at the foot, a ring at turnover. */
function markOf(plot: Plot, { kind, fromHz, toHz, db }: CurveMark): unknown {
  const y = yOf(plot, Math.min(plot.highestDb, Math.max(plot.lowestDb, db)));
  const [from, to] = [fromHz, toHz].map((hz) => xOf(plot, Math.min(highestHz, Math.max(lowestHz, hz)))) as [number, number];
  switch (kind) {
    case 'bandwidth': case 'steep-span': return svg`<path class="mark" data-mark=${kind} d=${`M${from} ${y - 5}v10M${from} ${y}H${to}M${to} ${y - 5}v10`} />`;
    case 'steepest': return svg`<path class="mark" data-mark=${kind} d=${`M${from - 5} ${y - 5}l10 10M${from - 5} ${y + 5}l10 -10`} />`;
    case 'undershoot': return svg`<path class="mark point" data-mark=${kind} d=${`M${from - 5} ${y + 8}h10l-5 -8z`} />`;
    case 'turnover': return svg`<circle class="mark point" data-mark=${kind} cx=${from} cy=${y} r="4" />`;
  }
}

customElements.define('response-curve', ResponseCurve);

declare global {
  interface HTMLElementTagNameMap {
    'response-curve': ResponseCurve;
  }
}

