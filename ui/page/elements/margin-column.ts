/** The margin: first look (until it is done), readings of the open stage, solver, cautions, notes. Under 1120 px a disclosure above the drawing. */
import { css, html, nothing } from 'lit';
import { writeQuantity } from '../../../dsp/path/index.ts';
import { cautions, stageById } from '../../../dsp/stages/index.ts';
import type { CautionName, Quantity, StageReading } from '../../../dsp/stages/index.ts';
import { stageName } from '../tell.ts';
import type { Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import './bench-figures.ts';
import type { BenchFigures } from './bench-figures.ts';

export class MarginColumn extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, folds: { state: true } };
  /** Folded or unfolded by hand. */
  declare folds: ReadonlyMap<CautionName, boolean>;

  static override styles = [base, css`
    .block { margin-bottom: 16px; }
    h2 { font-size: 0.9375rem; line-height: 1.25rem; margin-bottom: 4px; }
    dl { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 0 8px; font-size: 0.8125rem; line-height: 1.125rem; }
    dd { text-align: end; white-space: nowrap; }
    dd.words { grid-column: 1 / -1; text-align: start; white-space: normal; padding-inline-start: 8px; }
    p, li { font-size: 0.8125rem; line-height: 1.125rem; }
    ol { list-style: decimal inside; } ul { list-style: none; }
    li + li { margin-top: 2px; }
    .caution { border-inline-start: 3px solid var(--madder); padding-inline-start: 8px; }
    .caution button { font: 600 0.9375rem/1.25rem 'STIX Two Text', 'Liberation Serif', serif; color: var(--madder); }
    time { font-style: italic; color: var(--pencil); display: block; }
    .text { white-space: pre-wrap; overflow-wrap: anywhere; }
    textarea { width: 100%; font-size: 0.8125rem; line-height: 1.125rem; min-height: 44px; resize: vertical; }
    .disclosure { display: flex; align-items: center; gap: 8px; min-height: 32px; border-bottom: 1px solid var(--edge); width: 100%; }
    @media (pointer: coarse) { .disclosure { min-height: 44px; } }
    .disclosure::before { content: '+'; font-weight: 600; width: 12px; }
    .disclosure[aria-expanded='true']::before { content: '−'; }
    .open { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 14rem), 1fr)); gap: 0 24px; padding-top: 8px; }
    s { color: var(--pencil); }
  `];

  constructor() {
    super();
    this.folds = new Map();
  }

  override render() {
    const open = this.state.session.marginOpen;
    if (this.shape === 'wide' && !this.low) return html`<aside aria-label="Readings and notes">${this.#blocks()}</aside>`;
    // On the narrow page "More" in the title opens it; cautions stand there either way, the first look where there is room.
    return html`<aside aria-label="Readings and notes">
      ${this.shape === 'narrow' ? nothing : html`<button class="disclosure" aria-expanded=${open} aria-controls="inside" @click=${() => this.send({ kind: 'margin', open: !open })}>Readings and notes</button>`}
      <div id="inside" class="open" ?hidden=${!open}>${open ? this.#blocks() : nothing}</div>
      ${open ? nothing : html`<div class="open">${this.#cautions(true)}${this.#cautions(false)}${this.shape === 'narrow' || this.low ? nothing : this.#firstLook()}</div>`}
    </aside>`;
  }

  drawReadings(readings: Readings, nowMs: number): void {
    this.renderRoot.querySelector<BenchFigures>('bench-figures')?.drawReadings(readings, nowMs);
  }

  #blocks() {
    const inState = (this.shape === 'wide' || this.shape === 'folded') && !this.low;
    return html`${this.#cautions(true)}${this.#firstLook()}${this.#readings()}${this.#solver()}${this.#cautions(false)}${this.#notes()}
      ${inState ? nothing : html`<div class="block"><h2>Bench</h2><bench-figures .state=${this.state} .shape=${this.shape} .low=${this.low}></bench-figures><p class="pencil">Nothing is uploaded.</p></div>`}`;
  }

  #readings() {
    const { openStageKey } = this.state.session;
    const report = this.state.live.reports[openStageKey];
    const { fullScaleDbu } = this.state.setting.path;
    const clipDbu = report?.clipOutputDbu ?? null;
    return html`<div class="block"><h2>Readings</h2>
      ${report ? html`<dl>${report.readings.map((reading) => this.#reading(reading))}
        ${clipDbu === null ? nothing : html`<dt>1 % distortion at</dt><dd class="computed">${computed(clipDbu, 'level', 'dBu')}</dd>
          <dd class="words computed">${computed(clipDbu - fullScaleDbu, 'level', 'dBFS')}</dd>`}</dl>`
      : html`<p class="computed">computing ${stageName(this.state.setting, openStageKey)}</p>`}</div>`;
  }

  #reading({ label, value, quantity, unit, note }: StageReading) {
    return html`<dt>${label}</dt><dd class="computed">${computed(value, quantity, unit)}</dd>${note ? html`<dd class="words computed">${note}</dd>` : nothing}`;
  }

  #solver() {
    const { solver, engine } = this.state.live;
    const ran = engine.kind !== 'silent' && engine.kind !== 'starting';
    return html`<div class="block"><h2>Solver</h2><dl>
      <dt>rule</dt><dd class="computed">${solver.rule}</dd>
      <dt>iterations, mean</dt><dd class="computed">${ran ? solver.meanEvaluations.toFixed(1) : 'not run yet'}</dd>
      ${ran ? html`<dt>rescues</dt><dd class="computed">${solver.rescues}</dd><dt>cap hits</dt><dd class="computed">${solver.capHits}</dd>` : nothing}
    </dl></div>`;
  }

  /** Every caution a stage of the path names, once, with the stages it stands beside; what can kill stands first in the margin. */
  #cautions(lethal: boolean) {
    const beside = new Map<CautionName, string[]>();
    for (const { key, stage } of this.state.setting.path.stages) {
      for (const name of stageById(stage).cautions) beside.set(name, [...(beside.get(name) ?? []), stageName(this.state.setting, key)]);
    }
    return [...beside].filter(([name]) => (name === 'lethal-voltage') === lethal).map(([name, stages]) => {
      const folded = this.#isFolded(name);
      return html`<div class="block caution" role="note"><h2><button aria-expanded=${!folded} @click=${() => this.#fold(name)}>Caution: ${stages.join(', ')}</button></h2>
        ${folded ? nothing : html`<p>${cautions[name]}</p>`}</div>`;
    });
  }

  /** Where room is short a caution begins folded to its heading, unless life is at stake. */
  #isFolded(name: CautionName): boolean {
    return this.folds.get(name) ?? (name !== 'lethal-voltage' && (this.shape !== 'wide' || this.low));
  }

  #fold(name: CautionName): void {
    this.folds = new Map(this.folds).set(name, !this.#isFolded(name));
  }

  #firstLook() {
    const { firstLook, keys } = this.state.session;
    if (!firstLook) return nothing;
    const step = (done: boolean, words: string) => html`<li>${done ? html`<s>${words}</s><span class="unseen">, done</span>` : words}</li>`;
    const letter = keys.singleLetters ? `Press ${keys.letters.toggle.toUpperCase()}` : 'Press In circuit';
    return html`<div class="block"><h2>First look</h2><ol>
      ${step(firstLook.played, 'Press Space or Play; it begins quietly.')}
      ${step(firstLook.switched, `${letter}: out and in, same loudness.`)}
      ${step(firstLook.dialled, 'Drag the quiescent current upward and watch the hatched rows.')}
      ${step(firstLook.frozen, 'Freeze what you like.')}
    </ol></div>`;
  }

  #notes() {
    const { notes } = this.state.setting;
    return html`<div class="block"><h2>Notes</h2>
      <ul>${notes.map(({ date, text }) => html`<li><time datetime=${date}>${date}</time><span class="text">${text}</span></li>`)}</ul>
      <form @submit=${this.#noted}><textarea aria-label="New note" rows="2" maxlength="10000"></textarea><button type="submit">Add note</button></form></div>`;
  }

  #noted(event: SubmitEvent): void {
    event.preventDefault();
    const field = (event.target as HTMLFormElement).querySelector('textarea')!;
    this.send({ kind: 'note', text: field.value });
    field.value = '';
  }
}
customElements.define('margin-column', MarginColumn);

/** A computed figure as precisely as it can be used: a tenth of a decibel, else three significant digits. */
function computed(value: number, quantity: Quantity, unit: string): string {
  const decibels = quantity === 'level' || quantity === 'gain' || quantity === 'harmonic-amount';
  return writeQuantity(Number(decibels ? value.toFixed(1) : value.toPrecision(3)), quantity, unit);
}
