/**
 * An equaliser's curve with the loop's spectrum behind it, and the searching bell: a section is chosen, held up, swept on the curve by keys or hand while the loop runs, and turned
 * down to what is needed. A note named beside it shows which of its partials the bell holds up. Sends `search`, `set-value`, `turn-down`, `leave-search`.
 */
import { css, html, nothing } from 'lit';
import type { PathStage } from '../../../dsp/path/index.ts';
import { parseQuantity } from '../../../dsp/path/index.ts';
import { noteHertz, noteName, partialsWithin, stageById } from '../../../dsp/stages/index.ts';
import type { CurveMark, StageCurve } from '../../../dsp/stages/index.ts';
import { heldUp } from '../search.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import './response-curve.ts';
import type { SweepDetail } from './response-curve.ts';
import type { ShownPartial } from './response-curve-shapes.ts';
import { writeHz, writeSigned } from './response-curve-words.ts';

const sections = [1, 2, 3, 4, 5, 6];
/** What a bell is turned down to unless another amount is asked for, dB. */
const ordinaryDb = 3;
const mostPartials = 60;

export class EqualiserCurve extends BenchElement {
  static override properties = { ...BenchElement.properties, stage: { attribute: false }, touched: { attribute: false }, chosen: { state: true }, note: { state: true }, amount: { state: true } };
  static override styles = [base, css`
    :host { margin-top: 4px; }
    .row { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; margin-top: 4px; min-height: 32px; }
    label { display: inline-flex; align-items: baseline; gap: 6px; }
    .spacer { flex: 1; }
    input.short { width: 5rem; }
    .now { font-weight: 600; }
  `];

  declare stage: PathStage;
  /** Parameter touched last; its section is the chosen one. */
  declare touched: string | null;
  declare private chosen: number | null;
  /** What is typed as a note: "D4" or "294". */
  declare private note: string;
  declare private amount: number;

  #curve: StageCurve | null = null;
  #curveOf: readonly unknown[] = [];

  constructor() {
    super();
    this.touched = null;
    this.chosen = null;
    this.note = '';
    this.amount = ordinaryDb;
    // Not kept to itself: Escape silences whatever else it also cancels.
    this.addEventListener('keydown', ({ key }) => { if (key === 'Escape' && this.#search) this.send({ kind: 'leave-search' }); });
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    const section = /^section(\d)/.exec(this.touched ?? '')?.[1];
    if (changed.has('touched') && section !== undefined) this.chosen = Number(section);
    const before = changed.get('stage') as PathStage | undefined;
    if (before && before.key !== this.stage.key) this.chosen = null;
    const of = [this.stage.stage, this.stage.values, this.state.setting.path.oversamplingFactor];
    if (of.every((each, k) => each === this.#curveOf[k])) return;
    this.#curveOf = of;
    this.#curve = stageById(this.stage.stage).curve!(this.stage.values, this.state.live.baseRateHz * this.state.setting.path.oversamplingFactor);
  }

  get #search(): { readonly section: number } | null {
    const { search } = this.state.live;
    return search?.stageKey === this.stage.key ? search : null;
  }

  get #section(): number {
    return this.#search?.section ?? this.chosen ?? sections.find((n) => this.stage.values[`section${n}Kind`] !== 'off') ?? 1;
  }

  protected override render(): unknown {
    const section = this.#section;
    const search = this.#search;
    const { shown, words } = this.#partials(section);
    return html`
      <response-curve .curve=${this.#curve} .name=${'equaliser'} .spectrum=${this.state.live.spectrum} .section=${section} .partials=${shown}
        .sweptHz=${search ? this.stage.values[`section${section}Hz`] as number : null} @curve-swept=${this.#swept}></response-curve>
      ${this.state.live.spectrum ? html`<p class="note computed">Behind the curve: the loop, third octaves as a line, fine as a ground; right axis, dB re a full-scale sine.</p>` : nothing}
      <div class="row" role="group" aria-label="searching bell">${search ? this.#searching(section) : this.#resting(section)}
        <span class="spacer"></span><label>partials of <input class="short" type="text" aria-label="note by name or frequency" placeholder="D4, 294" .value=${this.note} @change=${(event: Event) => { this.note = (event.target as HTMLInputElement).value; }}></label></div>
      <p class="note computed" role="status">${words}</p>`;
  }

  #resting(section: number): unknown {
    return html`
      <label>Search with section <select aria-label="section to search with" @change=${(event: Event) => { this.chosen = Number((event.target as HTMLSelectElement).value); }}>
        ${sections.map((n) => html`<option value=${n} ?selected=${n === section}>${n}</option>`)}</select></label>
      <button class="boxed" @click=${() => this.#begin(section)}>Hold a bell up</button>
      <span class="note computed">+${heldUp.db} dB, Q ${heldUp.quality}, to be swept by ear</span>`;
  }

  #searching(section: number): unknown {
    const hz = this.stage.values[`section${section}Hz`] as number;
    return html`
      <span class="now">Searching with section ${section}, ${writeHz(hz)}</span>
      <label>turn down to <input class="short" type="number" min=${-heldUp.db} max=${heldUp.db} step="0.5" aria-label="amount after the search, dB" .value=${String(this.amount)}
        @change=${(event: Event) => { this.amount = (event.target as HTMLInputElement).valueAsNumber; }}> dB</label>
      <button class="boxed" @click=${() => this.send({ kind: 'turn-down', amountDb: Number.isFinite(this.amount) ? this.amount : ordinaryDb })}>Turn down</button>
      <button @click=${() => this.send({ kind: 'leave-search' })}>Leave it as it was</button>
      <span class="note computed">${this.#heard()}Arrows or a drag on the curve sweep it.</span>`;
  }

  /** Why nothing of the search is heard, if so. */
  #heard(): string {
    if (!this.stage.inCircuit) return 'The stage is out of circuit: nothing of this is heard. ';
    return this.state.live.playing ? '' : 'Play the loop to hear it. ';
  }

  #begin(section: number): void {
    this.send({ kind: 'search', stageKey: this.stage.key, section });
    void this.updateComplete.then(() => this.renderRoot.querySelector('response-curve')?.focusCursor());
  }

  #swept({ detail: { hz, phase } }: CustomEvent<SweepDetail>): void {
    this.send({ kind: 'set-value', stageKey: this.stage.key, parameter: `section${this.#section}Hz`, value: hz, phase });
  }

  /** Partials of the note, and whether the chosen section's bell holds them up. */
  #partials(section: number): { readonly shown: readonly ShownPartial[]; readonly words: string } {
    const noteHz = readNote(this.note);
    if (this.note.trim() === '') return { shown: [], words: '' };
    if (noteHz === null) return { shown: [], words: `"${this.note}" is no note: write D4, B♭3 or a frequency of 20 Hz to 20 kHz` };
    const bell = this.#curve!.marks.find((mark) => mark.section === section && mark.kind === 'bandwidth');
    const within = bell ? partialsWithin(noteHz, [bell.fromHz, bell.toHz]) : [];
    const orders = new Set(within.map(({ order }) => order));
    const shown = partialsWithin(noteHz, [noteHz, 20_000]).slice(0, mostPartials).map(({ order, hz }) => ({ order, hz, within: orders.has(order) }));
    return { shown, words: partialWords(noteHz, section, bell, within.map(({ order }) => order)) };
  }
}

/** A note's frequency by name or number; null: neither. */
function readNote(text: string): number | null {
  const named = noteHertz(text);
  if (named !== null) return named;
  const read = parseQuantity(text, { quantity: 'frequency', unit: 'Hz', fullScaleDbu: 24 });
  return read.ok && read.value >= 20 && read.value <= 20_000 ? read.value : null;
}

function partialWords(noteHz: number, section: number, bell: CurveMark | undefined, orders: readonly number[]): string {
  const note = `${noteName(noteHz)} (${writeHz(noteHz)})`;
  if (!bell) return `section ${section} is no bell: nothing to compare the partials of ${note} with`;
  const edges = `${writeHz(bell.fromHz)} to ${writeHz(bell.toHz)}, ${writeSigned(bell.db)} or more`;
  if (orders.length === 0) return `no partial of ${note} falls inside bell ${section} (${edges})`;
  return `of ${note} ${orders.length === 1 ? 'partial' : 'partials'} ${orders.join(', ')} inside bell ${section} (${edges})`;
}

customElements.define('equaliser-curve', EqualiserCurve);

declare global {
  interface HTMLElementTagNameMap {
    'equaliser-curve': EqualiserCurve;
  }
}
