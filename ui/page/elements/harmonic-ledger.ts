/**
 * The harmonics, H2 to H10: a table with bars, or upright bars, or one line. Draws what the state holds, bars at most 30 times a second and
 * figures at most 5 (both 4 where less motion is wanted), without easing.
 */
import { html, nothing } from 'lit';
import { numericalFloorDb, writeDb, writePercent } from '../../documents/harmonic-words.ts';
import { harshSentence, orders } from '../../../dsp/measure/index.ts';
import type { OrderEntry } from '../../../dsp/measure/index.ts';
import { lyingBar, standingBar } from '../drawing/harmonic-bar.ts';
import type { BarMarks } from '../drawing/harmonic-bar.ts';
import type { HarmonicFigure, HarmonicReadings } from '../state.ts';
import { BenchElement, figureMs, lessMotion, meterMs } from './bench-element.ts';
import { harmonicLedgerStyles } from './harmonic-ledger-styles.ts';
import { ledgerLine, writePhase } from './harmonic-words.ts';
import { PacedValue } from './paced-value.ts';
import './probe-caption.ts';
import { RoomObserver } from './room-observer.ts';

export type LedgerForm = 'table' | 'bars' | 'line';

/** Px of the upright bars. */
const standingPx = { docked: 40, narrow: 32 } as const;
const lessMotionMs = 250;
/** From this width on, percent and phase stand beside one another. */
const roomyPx = 400;

export class HarmonicLedger extends BenchElement {
  static override properties = { ...BenchElement.properties, form: { attribute: false }, bars: { state: true }, figures: { state: true }, opened: { state: true }, roomy: { state: true } };
  static override styles = harmonicLedgerStyles;

  /** Null: by the shape of the page. */
  declare form: LedgerForm | null;
  /** What the bars show and what the figures show: the same readings, at their own pace. */
  declare private bars: HarmonicReadings | null;
  declare private figures: HarmonicReadings | null;
  /** A folded ledger opened by its button. */
  declare private opened: boolean;
  /** Both percent and phase have room. */
  declare private roomy: boolean;

  readonly #barPace = new PacedValue<HarmonicReadings | null>(() => (lessMotion() ? lessMotionMs : meterMs), (readings) => { this.bars = readings; });
  readonly #figurePace = new PacedValue<HarmonicReadings | null>(() => (lessMotion() ? lessMotionMs : figureMs), (readings) => { this.figures = readings; });
  readonly #room = new RoomObserver(this, (widthPx) => { this.roomy = widthPx >= roomyPx; });

  constructor() {
    super();
    this.form = null;
    this.bars = this.figures = null;
    this.opened = false;
    this.roomy = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#room.observe();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#room.disconnect();
    this.#barPace.stop();
    this.#figurePace.stop();
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (!changed.has('state')) return;
    const before = changed.get('state') as typeof this.state | undefined;
    const { harmonics } = this.state.live;
    if (before && before.live.harmonics === harmonics) return;
    this.#barPace.offer(harmonics);
    this.#figurePace.offer(harmonics);
  }

  get #form(): LedgerForm {
    if (this.form !== null) return this.form;
    if (this.low) return 'line';
    return this.shape === 'docked' || this.shape === 'narrow' ? 'bars' : 'table';
  }

  protected override render(): unknown {
    switch (this.#form) {
      case 'table': return html`${this.#heading()}${this.#caption()}${this.#refused() ?? this.#table()}${this.#foot()}`;
      case 'bars': return html`${this.#refused() ?? this.#standing()}${this.#fold()}`;
      case 'line': return html`<div class="row">${this.#refused() ?? html`<span class="line">${this.figures ? ledgerLine(this.figures.figures) : 'harmonics not measured yet'}</span>`}
        ${this.#opener('Open', 'Close')}</div>${this.opened ? html`<div class="row">${this.#caption()}<span class="spacer"></span>${this.#state()}${this.#holder()}</div>${this.#refused() ?? this.#table()}${this.#foot()}` : nothing}`;
    }
  }

  #heading(): unknown {
    return html`<div class="row"><h2>Harmonics</h2><span class="spacer"></span>${this.#state()}${this.#holder()}</div>`;
  }

  #holder(): unknown {
    const { harmonicsHeld } = this.state.session;
    return html`<button class="boxed" aria-pressed=${harmonicsHeld} @click=${() => this.send({ kind: 'hold-harmonics', held: !harmonicsHeld })}>${harmonicsHeld ? 'Let go' : 'Hold'}</button>`;
  }

  /** "held", or "updating" while the numbers are older than the values drawn. */
  #state(): unknown {
    const { live, session } = this.state;
    const word = session.harmonicsHeld ? 'held' : live.harmonics !== null && live.harmonics.revision < live.revision ? 'updating' : '';
    return html`<span class="computed note state">${word}</span>`;
  }

  #caption(): unknown {
    return html`<probe-caption .state=${this.state} .shape=${this.shape} .low=${this.low}></probe-caption>`;
  }

  /** The sentence that stands in place of figures; null when there are figures. */
  #refused(): unknown {
    const refusal = this.figures?.refusal ?? null;
    return refusal === null ? null : html`<p class="error" role="status">${refusal}</p>`;
  }

  #table(): unknown {
    const phase = this.state.session.ledgerShowsPhase;
    const percents = !phase || this.roomy;
    const phases = phase || this.roomy;
    const fundamental = this.figures ? `, fundamental ${writeDb(this.figures.fundamentalDbu)} dBu` : '';
    return html`<table>
      <caption class="unseen">Harmonics relative to the fundamental${fundamental}</caption>
      <thead><tr><th scope="col" class="order">order</th><th scope="col" class="wide">−140 to 0 dB</th><th scope="col" class="figure db">dB</th>
        ${percents ? html`<th scope="col" class="figure percent">%</th>` : nothing}${phases ? html`<th scope="col" class="figure phase">sign, phase</th>` : nothing}
        <th scope="col" class="word"><span class="unseen">judgement</span></th></tr></thead>
      <tbody>${orders.map((entry) => this.#row(entry, percents, phases))}</tbody></table>`;
  }

  #row(entry: OrderEntry, percents: boolean, phases: boolean): unknown {
    const figure = figureOf(this.figures, entry.order);
    return html`<tr><th scope="row">H${entry.order}</th>
      <td class="wide">${lyingBar(figureOf(this.bars, entry.order)?.db ?? -Infinity, entry.fill, this.#marks(entry.order))}</td>
      <td class="figure db">${figure ? (figure.db >= numericalFloorDb ? writeDb(figure.db) : html`<span class="floor">${writeDb(figure.db)}</span>`) : ''}</td>
      ${percents ? html`<td class="figure">${figure?.underNoise ? noiseWord : figure ? writePercent(100 * Math.abs(figure.signedRatio)) : ''}</td>` : nothing}
      ${phases ? html`<td class="figure">${figure?.underNoise && !percents ? noiseWord : figure ? writePhase(figure) : ''}</td>` : nothing}
      <td class="word">${entry.word}</td></tr>`;
  }

  #marks(order: number): BarMarks {
    return { gestureDb: this.state.live.gestureMarks?.[order], keptDb: this.state.session.keptMarks?.[order] };
  }

  #foot(): unknown {
    return html`${this.figures && this.figures.refusal === null ? html`<p class="sums">THD F ${writePercent(this.figures.thdPercentF)} % · weighted n²/4 ${writePercent(this.figures.weightedPercent)} %</p>` : nothing}
      <p class="note words">${harshSentence.replace(/^h/, 'H')}.${this.figures?.figures.some(({ underNoise }) => underNoise) ? ' In noise: weaker than the path’s noise in 1 Hz round it.' : ''}</p>${this.#tools()}`;
  }

  #tools(): unknown {
    const { keptMarks, ledgerShowsPhase } = this.state.session;
    return html`<div class="row tools">
      <button ?disabled=${!this.state.live.harmonics} @click=${() => this.send({ kind: 'keep-marks' })}>Keep marks</button>
      ${keptMarks ? html`<button @click=${() => this.send({ kind: 'drop-marks' })}>Drop marks</button>` : nothing}
      ${this.roomy ? nothing : html`<button aria-pressed=${ledgerShowsPhase} @click=${() => this.send({ kind: 'show-phase', shown: !ledgerShowsPhase })}>${ledgerShowsPhase ? 'Percent' : 'Phase'}</button>`}
    </div>`;
  }

  #standing(): unknown {
    return html`<ol class="standing" aria-label="harmonics in decibels relative to the fundamental">${orders.map(({ order, fill, word }) => {
      const figure = figureOf(this.figures, order);
      const written = figure ? writeDb(figure.db, 0) : '';
      return html`<li><span class=${figure?.underNoise ? 'db computed' : 'db'}>${written.replace('under ', '<')}</span>${standingBar(figureOf(this.bars, order)?.db ?? -Infinity, fill, this.#marks(order), standingPx[this.shape === 'narrow' ? 'narrow' : 'docked'])}<b>H${order}</b>
        <span class="unseen">${word}${figure?.underNoise ? ', in noise' : ''}</span></li>`;
    })}</ol>`;
  }

  /** Under the bars: why some are hatched (on a narrow page in few words until it is opened), and what else the table would offer. */
  #fold(): unknown {
    const few = this.shape === 'narrow' && !this.opened;
    return html`<div class="row fold"><span class="note words">${few ? harshSentence.replace(/ \(.*\)$/, '') : harshSentence}</span>${this.#state()}${this.#opener('Probe, marks', 'Close')}</div>
      ${this.opened ? html`<div class="row">${this.#caption()}${this.#holder()}</div>${this.#tools()}` : nothing}`;
  }

  #opener(closedWords: string, openWords: string): unknown {
    return html`<button aria-expanded=${this.opened} @click=${() => { this.opened = !this.opened; }}>${this.opened ? openWords : closedWords}</button>`;
  }
}

/** In place of the percent of a harmonic that lies under the noise. */
const noiseWord = html`<span class="computed">in noise</span>`;

function figureOf(readings: HarmonicReadings | null, order: number): HarmonicFigure | undefined {
  return readings?.figures.find((figure) => figure.order === order);
}

customElements.define('harmonic-ledger', HarmonicLedger);

declare global {
  interface HTMLElementTagNameMap {
    'harmonic-ledger': HarmonicLedger;
  }
}
