/** The margin: first look (until it is done), readings of the open stage, solver, cautions, notes. Under 1120 px a disclosure above the drawing. */
import { css, html, nothing } from 'lit';
import { writeComputed } from '../../documents/value-words.ts';
import { ruleErrorWords } from '../../../dsp/setting/index.ts';
import { cautions, stageById } from '../../../dsp/stages/index.ts';
import type { CautionName, StageReading, StageReport } from '../../../dsp/stages/index.ts';
import { headroomWords } from '../headroom-words.ts';
import { listenForOf } from '../pins.ts';
import { isSheetKey, sheetKeys, sheets } from '../sheets.ts';
import type { SuppliedReadings } from '../../../worklets/messages.ts';
import { stageName, trialName } from '../tell.ts';
import type { Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import './bench-figures.ts';
import './figure-list.ts';
import './notes-block.ts';
import type { FigureList } from './figure-list.ts';
import type { BenchFigures } from './bench-figures.ts';

export class MarginColumn extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, plated: { type: Boolean, reflect: true }, folds: { state: true } };
  /** A figure is open: there is a line for what is folded, and no more. */
  declare plated: boolean;
  /** Folded or unfolded by hand. */
  declare folds: ReadonlyMap<CautionName, boolean>;

  static override styles = [base, css`
    .block { margin-bottom: 16px; }
    /* Wide: as tall as the stage beside it; what is longer scrolls here, not the page. */
    .column { position: absolute; inset: 0; overflow-y: auto; padding: 8px 8px 12px 3px; margin-inline-start: -3px; scrollbar-width: thin; scrollbar-color: var(--edge) transparent; scrollbar-gutter: stable; }
    @media print { .column { position: static; } }
    h2 { font-size: 0.9375rem; line-height: 1.25rem; margin-bottom: 4px; }
    dl { font-size: 0.8125rem; line-height: 1.125rem; }
    .line { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 8px; }
    dd { white-space: nowrap; margin-inline-start: auto; }
    .other { flex: 0 0 100%; text-align: end; }
    .words { white-space: normal; text-align: end; }
    details { margin-top: 4px; } summary { list-style: none; cursor: pointer; min-height: 24px; font-size: 0.8125rem; line-height: 1.5rem; } details li + li { margin-top: 4px; } b { font-weight: 600; }
    summary::before { content: '+'; display: inline-block; width: 12px; font-weight: 600; } details[open] summary::before { content: '−'; }
    @media (pointer: coarse) { summary { min-height: 44px; line-height: 2.75rem; } }
    p, li { font-size: 0.8125rem; line-height: 1.125rem; }
    ol { list-style: decimal inside; } ul { list-style: none; }
    li + li { margin-top: 2px; }
    .caution { border-inline-start: 3px solid var(--madder); padding-inline-start: 8px; }
    .caution button { font: 600 0.9375rem/1.25rem 'STIX Two Text', 'Liberation Serif', serif; color: var(--madder); }
    .text { white-space: pre-wrap; overflow-wrap: anywhere; }
    .disclosure { display: flex; align-items: center; gap: 8px; min-height: 32px; border-bottom: 1px solid var(--edge); width: 100%; }
    @media (pointer: coarse) { .disclosure { min-height: 44px; } }
    .disclosure::before { content: '+'; font-weight: 600; width: 12px; }
    .disclosure[aria-expanded='true']::before { content: '−'; }
    .open { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 14rem), 1fr)); gap: 0 24px; align-items: start; padding-top: 8px; }
    .open .block { margin-bottom: 8px; } .open .lethal { grid-column: 1 / -1; }
    /* The headings of cautions stand on the disclosure's own line. */
    :host([plated]) .folded { display: flex; flex-wrap: wrap; align-items: center; gap: 0 24px; border-bottom: 1px solid var(--edge); }
    :host([plated]) .folded .disclosure { width: auto; border: 0; } :host([plated]) .folded .open { display: contents; } :host([plated]) .folded .block { margin: 4px 0; } :host([plated]) .folded h2 { margin: 0; }
    s { color: var(--pencil); } .link { text-decoration: underline; text-underline-offset: 3px; }
  `];

  constructor() {
    super();
    this.folds = new Map();
    this.plated = false;
  }

  override render() {
    const open = this.state.session.marginOpen;
    if (this.shape === 'wide' && !this.low) return html`<aside class="column" aria-label="Readings and notes">${this.#blocks()}</aside>`;
    // On the narrow page "More" in the title opens it; cautions stand there either way, the first look where there is room.
    return html`<aside class=${open ? '' : 'folded'} aria-label="Readings and notes">
      ${this.shape === 'narrow' ? nothing : html`<button class="disclosure" aria-expanded=${open} aria-controls="inside" @click=${() => this.send({ kind: 'margin', open: !open })}>Readings and notes</button>`}
      <div id="inside" class="open" ?hidden=${!open}>${open ? this.#blocks() : nothing}</div>
      ${open ? nothing : html`<div class="open">${this.#cautions(true)}${this.#cautions(false)}${this.shape === 'narrow' || this.low || this.plated ? nothing : this.#firstLook()}</div>`}
    </aside>`;
  }

  drawReadings(readings: Readings, nowMs: number): void {
    this.renderRoot.querySelector<BenchFigures>('bench-figures')?.drawReadings(readings, nowMs);
  }

  #blocks() {
    const inState = (this.shape === 'wide' || this.shape === 'folded') && !this.low;
    return html`${this.#cautions(true)}${this.#listenFor()}${this.#firstLook()}${this.#readings()}${this.#figures()}${this.#interface()}${this.#pathNoise()}${this.#headroom()}${this.#solver()}${this.#cautions(false)}<notes-block class="block" .state=${this.state} .shape=${this.shape} .low=${this.low}></notes-block>
      ${inState ? nothing : html`<div class="block"><h2>Bench</h2><bench-figures .state=${this.state} .shape=${this.shape} .low=${this.low}></bench-figures><p class="pencil">Nothing is uploaded.</p></div>`}`;
  }

  #figures() {
    return html`<figure-list class="block" .state=${this.state} .shape=${this.shape} .low=${this.low}></figure-list>`;
  }

  /** To the figure that was open, where it is listed; or to what unfolds the list. */
  async focusFigures(view: string | null): Promise<void> {
    await this.updateComplete;
    const list = this.renderRoot.querySelector<FigureList>('figure-list');
    await list?.updateComplete;
    const place = list?.renderRoot.querySelector<HTMLElement>(`[data-view="${CSS.escape(view ?? '')}"]`) ?? this.renderRoot.querySelector<HTMLElement>('.disclosure');
    place?.focus();
  }

  #readings() {
    const { openStageKey } = this.state.session;
    const report = withSupplied(this.state.live.reports[openStageKey], this.state.live.supplied?.stages[openStageKey]);
    if (isSheetKey(openStageKey) && !report) return nothing;
    if (!report) return html`<div class="block"><h2>Readings</h2><p class="computed">computing ${stageName(this.state.setting, openStageKey)}</p></div>`;
    const clipDbu = report.clipOutputDbu ?? null;
    const { fullScaleDbu } = this.state.setting.path;
    const remarks = remarksOf(report);
    return html`<div class="block"><h2>Readings</h2><dl>
        ${report.readings.map(({ label, value, quantity, unit }) => line(label, writeComputed(value, quantity, unit)))}
        ${clipDbu === null ? nothing : line('1 % distortion at', writeComputed(clipDbu, 'level', 'dBu'), writeComputed(clipDbu - fullScaleDbu, 'level', 'dBFS'))}
        ${remarks.map(({ label, short }) => html`<div class="line"><dt>${label}</dt><dd class="computed words">${short}</dd></div>`)}</dl>
      ${this.#meanings([...report.readings.filter(noted).map(({ label, note }) => ({ label, words: note })), ...remarks.filter(({ words }) => words !== '')])}</div>`;
  }

  /** Level at each joint and what is left above it; which gives out first, in words. */
  #headroom() {
    const words = headroomWords(this.state);
    if (words === null) return nothing;
    return html`<div class="block headroom"><h2>Headroom</h2>
      ${words.first === '' ? nothing : html`<p>${words.first}</p>`}
      <dl>${words.rows.map(({ name, levelDbu, levelDbfs, left, rails }) => html`${line(name, writeComputed(levelDbu, 'level', 'dBu'), `${left === '' ? '' : `${left} · `}${writeComputed(levelDbfs, 'level', 'dBFS')}`)}
        ${rails.map((rail) => line(rail.label, rail.left))}`)}</dl>
      ${words.fullScale === '' ? nothing : html`<p class="computed">${words.fullScale}</p>`}
      <details><summary>What these mean</summary><p>Levels are for +4 dBu from the source at 1 kHz. Left: to 1 % distortion of the stage at 1 kHz; and, of the open stage and of the first to give out, until the node named would meet the rail.</p></details></div>`;
  }

  /** What is on trial, and what only its interface with its neighbours or surroundings does. */
  #interface() {
    const { onTrial } = this.state.session;
    const { interfaced } = this.state.live;
    const around = this.state.setting.path.surroundings !== null;
    if (interfaced === null && !(around && onTrial.kind === 'path')) return nothing;
    return html`<div class="block interface"><h2>Interface of ${trialName(this.state)}</h2>
      ${around && onTrial.kind === 'path' ? html`<p>Out of circuit, the source drives the same tie lines and load directly, through the patch.</p>` : nothing}
      ${interfaced === null ? nothing : html`${interfaced.remarks.map(({ words }) => html`<p>${words}</p>`)}
        <details><summary>Figures</summary><dl>${interfaced.readings.map(({ label, value, quantity, unit }) => line(label, writeComputed(value, quantity, unit)))}</dl></details>`}</div>`;
  }

  /** Of the whole path, while the sheet of the supply is open. */
  #pathNoise() {
    const { supplied } = this.state.live;
    if (supplied === null || this.state.session.openStageKey !== 'supply') return nothing;
    const { readings, remarks } = supplied.path;
    return html`<div class="block"><h2>Noise and rails</h2><dl>${readings.map(({ label, value, quantity, unit }) => line(label, writeComputed(value, quantity, unit)))}</dl>
      ${this.#meanings([...readings.filter(noted).map(({ label, note }) => ({ label, words: note })), ...remarks])}</div>`;
  }

  /** The words behind the figures, folded away. */
  #meanings(meanings: readonly { readonly label: string; readonly words: string }[]) {
    return meanings.length === 0 ? nothing : html`<details><summary>What these mean</summary>
      <ul>${meanings.map(({ label, words }) => html`<li><b>${label}</b>: ${words}</li>`)}</ul></details>`;
  }

  #solver() {
    const { solver, engine, loopsBecause } = this.state.live;
    const ran = engine.kind !== 'silent' && engine.kind !== 'starting';
    return html`<div class="block"><h2>Solver</h2><dl>
      ${this.#rule()}${line('iterations, mean', ran ? solver.meanEvaluations.toFixed(1) : 'not run yet')}
      ${ran ? html`${line('rescues', String(solver.rescues))}${line('cap hits', String(solver.capHits))}` : nothing}
    </dl>${loopsBecause === null ? nothing : html`<p>This browser has ${loopsBecause}: the solver runs as plain loops, to the same bits but several times slower.</p>`}</div>`;
  }

  /** How the open stage is integrated; nothing of one that is no circuit or out of circuit. */
  #rule() {
    const { rules, path } = this.state.setting;
    if (rules === null) return line('integrated as', 'computing');
    const stored = rules[path.stages.findIndex(({ key }) => key === this.state.session.openStageKey)];
    return stored ? html`${line('integrated as', stored.rule)}${line('error at 10 kHz', ruleErrorWords(stored.errorDb))}` : nothing;
  }

  /** Every caution a stage of the path names, once, with the stages it stands beside; what can kill stands first in the margin. */
  #cautions(lethal: boolean) {
    const beside = new Map<CautionName, string[]>();
    for (const { key, stage } of this.state.setting.path.stages) {
      for (const name of stageById(stage).cautions) beside.set(name, [...(beside.get(name) ?? []), key]);
    }
    for (const key of sheetKeys) {
      if (this.state.setting.path[key] !== null) for (const name of sheets[key].cautions) beside.set(name, [...(beside.get(name) ?? []), key]);
    }
    return [...beside].filter(([name]) => (name === 'lethal-voltage') === lethal).map(([name, keys]) => {
      const folded = this.#isFolded(name);
      return html`<div class=${lethal ? 'block caution lethal' : 'block caution'} role="note"><h2><button aria-expanded=${!folded} @click=${() => this.#fold(name)}>Caution: ${this.#besideWords(keys)}</button></h2>
        ${folded ? nothing : html`<p>${cautions[name]}</p>`}</div>`;
    });
  }

  /** "1 single-ended, 2 push-pull"; of more than two stages the numbers alone. */
  #besideWords(keys: readonly string[]): string {
    if (keys.length <= 2) return keys.map((key) => stageName(this.state.setting, key)).join(', ');
    return `stages ${keys.filter((key) => !isSheetKey(key)).map((key) => 1 + this.state.setting.path.stages.findIndex((stage) => stage.key === key)).join(', ')}${keys.filter(isSheetKey).map((key) => `, ${sheets[key].shortTitle}`).join('')}`;
  }

  /** Where room is short a caution begins folded to its heading, unless life is at stake. */
  #isFolded(name: CautionName): boolean {
    return this.folds.get(name) ?? (name !== 'lethal-voltage' && (this.shape !== 'wide' || this.low));
  }

  #fold(name: CautionName): void {
    this.folds = new Map(this.folds).set(name, !this.#isFolded(name));
  }

  /** Of a ready path: its note stands first, in place of the first look. */
  #listenFor() {
    const text = listenForOf(this.state.setting);
    return text === null ? nothing : html`<div class="block"><h2>Listen for</h2><p class="text">${text}</p></div>`;
  }

  #firstLook() {
    const { firstLook, keys } = this.state.session;
    if (!firstLook || listenForOf(this.state.setting) !== null) return nothing;
    const step = (done: boolean, words: string) => html`<li>${done ? html`<s>${words}</s><span class="unseen">, done</span>` : words}</li>`;
    const letter = keys.singleLetters ? `Press ${keys.letters.toggle.toUpperCase()}` : 'Press In circuit';
    return html`<div class="block"><h2>First look</h2><ol>
      ${step(firstLook.played, 'Press Space or Play; it begins quietly.')}
      ${step(firstLook.switched, `${letter}: out and in, same loudness.`)}
      ${step(firstLook.dialled, 'Drag the quiescent current upward and watch the hatched rows.')}
      ${step(firstLook.frozen, 'Freeze what you like.')}
    </ol><p>Or begin with <button class="link" @click=${() => this.send({ kind: 'shelf', shelf: 'paths' })}>another path</button>.</p></div>`;
  }
}
customElements.define('margin-column', MarginColumn);

/** One reading: what it is, and its figure, in a second unit on the next line. */
function line(label: string, figure: string, other = '') {
  return html`<div class="line"><dt>${label}</dt><dd class="computed">${figure}</dd>${other === '' ? nothing : html`<dd class="computed other">${other}</dd>`}</div>`;
}

/** The report with noise and rails behind it, where these are computed. */
function withSupplied(report: StageReport | undefined, supplied: SuppliedReadings | undefined): StageReport | undefined {
  if (!report || !supplied) return report;
  return { ...report, readings: [...report.readings, ...supplied.readings], remarks: [...report.remarks, ...supplied.remarks] };
}

function noted(reading: StageReading): reading is StageReading & { readonly note: string } {
  return reading.note !== undefined;
}

/** A remark's word, and after its colon the explanation. The polarity stands in the stage's heading, reversed or not. */
function remarksOf({ remarks }: StageReport): { label: string; short: string; words: string }[] {
  return remarks.filter(({ label }) => label !== 'polarity').map(({ label, words }) => {
    const [short, ...rest] = words.split(': ');
    return { label, short: short!, words: rest.join(': ') };
  });
}
