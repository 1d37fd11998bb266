/**
 * The open stage: heading, in or out of circuit, polarity, and its circuit with the values on it; or, where the drawing is wider than its place or
 * the reader chose it, the bare drawing over the parts list.
 */
import { css, html, nothing } from 'lit';
import { gridPx, stageById } from '../../../dsp/stages/index.ts';
import type { Parameter, SheetDefinition, StageDefinition, StageValues } from '../../../dsp/stages/index.ts';
import { headingOf, preferredSeries } from '../../../dsp/path/index.ts';
import type { PathStage, SeriesName } from '../../../dsp/path/index.ts';
import { faultPlace } from '../drawing/fault-place.ts';
import { jointWords } from '../joint-words.ts';
import { hasSections } from '../search.ts';
import { isSheetKey, sheetOffWords, sheets, tableOf } from '../sheets.ts';
import type { SheetKey } from '../sheets.ts';
import type { Action, BenchActionEvent, StageSheetElement } from '../state.ts';
import { base, textScale } from '../styles/base.ts';
import { designator } from '../styles/type.ts';
import { BenchElement } from './bench-element.ts';
import './circuit-drawing.ts';
import type { CircuitDrawing } from './circuit-drawing.ts';
import './equaliser-curve.ts';
import type { PartsList } from './parts-list.ts';
import { renderSlip } from './parts-list.ts';
import { RoomObserver } from './room-observer.ts';
import { renderEditor } from './value-context.ts';
import type { ValueContext } from './value-context.ts';

/** From this width on the list stands in two columns, and the drawing over it is small: the list was asked for. */
const roomyListPx = 560;

/** Labels and values on the drawing keep clear of one another up to this size of text; beyond it the list has the values. */
const largestDrawnText = 1.25;

export class StageSheet extends BenchElement implements StageSheetElement {
  static override properties = { ...BenchElement.properties, roomPx: { state: true }, touched: { state: true }, slip: { state: true }, changing: { state: true }, visited: { state: true }, curveOpen: { state: true }, beside: { type: Boolean } };
  static override styles = [base, designator, css`
    .heading { display: flex; flex-wrap: wrap; align-items: center; gap: 0 16px; min-height: 28px; }
    .heading button { text-align: center; }
    .heading select { min-width: 32px; }
    .series { white-space: nowrap; }
    @media (pointer: coarse) { .heading select { min-width: 44px; } }
    .switch { min-width: 104px; }
    .switch[aria-checked='false'] { border-style: dashed; }
    .spacer { flex: 1; }
    .levels { display: flex; flex-wrap: wrap; gap: 2px 24px; min-height: 28px; align-items: center; }
    .levels > span { display: inline-flex; align-items: baseline; gap: 8px; }
    .joint { display: inline-flex; flex-wrap: wrap; align-items: baseline; gap: 0 8px; }
    .levels .joint { margin-inline-start: auto; }
    .joint .apart { border-style: dashed; }
    .levels .curve { margin-inline-start: auto; } .levels .curve + .joint { margin-inline-start: 0; }
    .curve::before { content: '+'; display: inline-block; width: 12px; font-weight: 600; } .curve[aria-expanded='true']::before { content: '−'; }
    .sentence { margin: 4px 0; max-width: 44rem; }
    .scroller { max-width: 100%; }
    circuit-drawing:not([natural]) { max-width: 664px; margin-top: 4px; }
    circuit-drawing.beside-list { max-width: 22.5rem; }
    value-slip, parts-list { margin-top: 8px; }
  `];

  /** A figure's plate stands beside it. */
  declare beside: boolean;
  declare private roomPx: number;
  declare private touched: string | null;
  declare private slip: string | null;
  /** Value changed last: the one that may lag behind its sound. */
  declare private changing: string | null;
  /** Value that had the focus last. */
  declare private visited: string | null;
  /** A circuit's curve is reckoned when it is asked for. */
  declare private curveOpen: boolean;

  readonly #room = new RoomObserver(this, (widthPx) => { this.roomPx = widthPx; });

  constructor() {
    super();
    this.roomPx = 0;
    this.touched = null;
    this.slip = null;
    this.changing = null;
    this.visited = null;
    this.curveOpen = this.beside = false;
    this.addEventListener('focusin', (event) => this.#visit(event));
    this.addEventListener('bench-action', (event) => this.#watch((event as BenchActionEvent).detail));
    this.addEventListener('value-slip-wanted', (event) => this.#openSlip(event as CustomEvent<{ parameter: string }>));
    this.addEventListener('value-slip-done', () => this.#closeSlip());
    this.addEventListener('part-touched', (event) => this.#openRow((event as CustomEvent<string>).detail));
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#room.observe();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#room.disconnect();
  }

  /** Puts the focus on one value of the open stage; false when it has no such value. */
  focusValue(parameter: string): boolean {
    const editor = this.#editorOf(parameter);
    if (!editor && !this.state.session.partsListChosen) return this.#focusInList(parameter);
    editor?.scrollIntoView({ block: 'nearest' });
    editor?.focus();
    return editor !== null;
  }

  /** A value that a choice leaves unwired has its place in the list alone. */
  #focusInList(parameter: string): boolean {
    if (!tableOf(this.state.setting.path, this.state.session.openStageKey)?.parameters.some(({ id }) => id === parameter)) return false;
    this.send({ kind: 'parts-list', chosen: true });
    void this.updateComplete.then(() => this.updateComplete).then(() => { if (this.state.session.partsListChosen) this.focusValue(parameter); });
    return true;
  }

  #editorOf(parameter: string): HTMLElement | null {
    const own = this.renderRoot.querySelector<HTMLElement>(`value-editor[data-parameter="${CSS.escape(parameter)}"]`);
    return own ?? this.renderRoot.querySelector<CircuitDrawing>('circuit-drawing')?.editorOf(parameter)
      ?? this.renderRoot.querySelector<PartsList>('parts-list')?.editorOf(parameter) ?? null;
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    const before = changed.get('state') as typeof this.state | undefined;
    if (before && before.session.openStageKey !== this.state.session.openStageKey) this.touched = this.slip = this.changing = this.visited = null;
  }

  protected override render(): unknown {
    const { setting, session, live } = this.state;
    if (isSheetKey(session.openStageKey)) return this.#pathSheet(session.openStageKey);
    const index = Math.max(0, setting.path.stages.findIndex(({ key }) => key === session.openStageKey));
    const stage = setting.path.stages[index];
    if (!stage) return nothing;
    const table = stageById(stage.stage);
    const definition = { ...table, drawing: table.drawingFor?.(stage.values) ?? table.drawing };
    const context = this.#context(stage.key, stage.values);
    const fault = live.fault?.stageKey === stage.key ? live.fault : null;
    return html`
      ${this.#heading(stage, definition, index)}
      ${fault ? html`<p class="sentence error" role="alert">${fault.sentence} The last good circuit plays on.</p>` : nothing}
      ${this.#figures(definition, context, stage, this.#joint(stage, index))}`;
  }

  /** What stands round the path, or supplies it: switched on or off, its values edited as a stage's are. */
  #pathSheet(key: SheetKey): unknown {
    const sheet = sheets[key];
    const values = this.state.setting.path[key];
    return html`
      <div class="heading">
        <h2>${sheet.title}</h2>
        <button class="boxed switch" role="switch" aria-checked=${values !== null} aria-label=${`${sheet.title}, on`}
          @click=${() => this.send({ kind: 'sheet', sheet: key, on: values === null })}>${values === null ? 'off' : 'on'}</button>
        <span class="spacer"></span>
        ${values === null ? nothing : html`${steppedBySeries(sheet) ? this.#series() : nothing}${this.#listButton(sheet)}`}
      </div>
      ${values === null ? html`<p class="sentence">${sheetOffWords[key]}</p>` : this.#figures(sheet, this.#context(key, values))}`;
  }

  #figures(definition: SheetDefinition, context: ValueContext, stage?: PathStage, joint: unknown = nothing): unknown {
    return this.#figuresFit(definition) ? this.#naturalDrawing(definition, context, stage, joint) : html`${joint}${this.#list(definition, context, stage)}`;
  }

  /** How the stage hangs on the one before it: in words, and joined on request. Nothing of the first stage. */
  #joint(stage: PathStage, index: number): unknown {
    const words = jointWords(this.state.setting, index);
    return words === null ? nothing : html`<span class="joint"><button class=${words.joined ? 'boxed' : 'boxed apart'} role="switch" aria-checked=${stage.joined} aria-label=${`join to ${words.before}`}
      title="Joined: both stages are solved in one circuit; else this one sees the output network of the one before"
      @click=${() => this.send({ kind: 'join-stage', stageKey: stage.key, joined: !stage.joined })}>${words.short}</button>
      ${words.verdict === '' ? nothing : html`<span class="note computed">${words.verdict}</span>`}</span>`;
  }

  #figuresFit({ drawing }: SheetDefinition): boolean {
    return drawing !== null && !this.state.session.partsListChosen && this.roomPx >= drawing.width * gridPx && textScale() <= largestDrawnText;
  }

  #heading(stage: PathStage, definition: StageDefinition, index: number): unknown {
    const inverts = (definition.invertsFor?.(stage.values) ?? definition.inverts) !== stage.reversed;
    return html`<div class="heading">
      <h2>${index + 1} ${definition.title}</h2>
      <button class="boxed switch" role="switch" aria-checked=${stage.inCircuit} aria-label=${`${definition.title} in circuit`}
        @click=${() => this.send({ kind: 'stage-in-out', stageKey: stage.key, inCircuit: !stage.inCircuit })}>${stage.inCircuit ? 'in circuit' : 'out of circuit'}</button>
      <button aria-pressed=${stage.reversed} aria-label=${`polarity: ${inverts ? 'inverts' : 'kept'}; reverse`}
        @click=${() => this.send({ kind: 'reverse-polarity', stageKey: stage.key })}>polarity ${inverts ? 'inverts' : 'kept'}${stage.reversed ? ', reversed' : ''}</button>
      <span class="spacer"></span>
      ${steppedBySeries(definition) ? this.#series() : nothing}
      ${this.#listButton(definition)}
    </div>`;
  }

  /** Between drawing and list, where the drawing has room. */
  #listButton({ drawing }: SheetDefinition): unknown {
    const { partsListChosen } = this.state.session;
    if (drawing === null || this.roomPx < drawing.width * gridPx) return nothing;
    return html`<button aria-pressed=${partsListChosen} @click=${() => this.send({ kind: 'parts-list', chosen: !partsListChosen })}>${partsListChosen ? 'Drawing' : 'Parts list'}</button>`;
  }

  /** Which preferred values the arrow keys and drags of components land on. */
  #series(): unknown {
    const { series } = this.state.session;
    return html`<span class="series">${this.shape === 'wide' ? html`<span class="pencil note" aria-hidden="true">series </span>` : nothing}<select aria-label="series of preferred values" @change=${(event: Event) => this.send({ kind: 'series', series: (event.target as HTMLSelectElement).value as SeriesName })}>
      ${Object.keys(preferredSeries).map((name) => html`<option value=${name} ?selected=${name === series}>${name}</option>`)}</select></span>`;
  }

  #context(stageKey: string, values: StageValues): ValueContext {
    const { setting, session, live } = this.state;
    const behind = live.playing && live.soundingRevision < live.revision;
    const prefix = `${stageKey}.`;
    const refusals = Object.fromEntries(Object.entries(live.refusals).flatMap(([name, sentence]) => (name.startsWith(prefix) ? [[name.slice(prefix.length), sentence]] : [])));
    return { stageKey, values, fullScaleDbu: setting.path.fullScaleDbu, series: session.series, lagging: behind ? this.changing : null, refusals };
  }

  #drawing(definition: SheetDefinition, context: ValueContext, stage: PathStage | undefined, figures: boolean): unknown {
    if (definition.drawing === null) return nothing;
    const fault = stage && this.state.live.fault?.stageKey === stage.key ? this.state.live.fault : null;
    const faultAt = fault && stage ? faultPlace(definition.drawing, stageById(stage.stage).circuit(stage.values, null), fault.at) : null;
    return html`<circuit-drawing class=${!figures && this.roomPx >= roomyListPx ? 'beside-list' : ''} ?natural=${figures} .drawing=${definition.drawing} .name=${definition.title} .parameters=${definition.parameters} .context=${context}
      .nodeVolts=${this.state.live.reports[context.stageKey]?.nodeVolts ?? {}} .faultAt=${faultAt} .figures=${figures}></circuit-drawing>`;
  }

  /** Drawing with its values; what belongs to no component stands above it. */
  #naturalDrawing(definition: SheetDefinition, context: ValueContext, stage: PathStage | undefined, joint: unknown): unknown {
    const drawn = drawnParameters(definition);
    const elsewhere = stage ? drawnInOtherWays(stageById(stage.stage), stage.values) : new Set<string>();
    const others = shownParameters(definition, stage).filter(({ id }) => !drawn.has(id) && !elsewhere.has(id));
    const level = (parameter: Parameter) => html`<span><span class="designator">${headingOf(parameter)}</span>${renderEditor(parameter, context)}</span>`;
    const slip = definition.parameters.find(({ id }) => id === this.slip);
    return html`
      <div class="levels">${others.map(level)}${this.#curveButton(stage)}${joint}</div>
      ${this.#drawing(definition, context, stage, true)}
      ${this.#curve(stage)}
      ${slip?.kind === 'number' ? renderSlip(slip, context) : nothing}`;
  }

  #list(definition: SheetDefinition, context: ValueContext, stage: PathStage | undefined): unknown {
    const drawn = html`${this.#curveButton(stage)}${this.#drawing(definition, context, stage, false)}${this.#curve(stage)}`;
    const list = html`<parts-list ?compact=${this.beside} .parameters=${shownParameters(definition, stage)} .context=${context} .touched=${this.touched} .slip=${this.slip}></parts-list>`;
    // Beside a figure values are dialled: they come first.
    return this.beside ? html`${list}${drawn}` : html`${drawn}${list}`;
  }

  /** An equaliser's curve stands in place of a drawing; a circuit's opens under it. */
  #curve(stage: PathStage | undefined): unknown {
    const definition = stage && stageById(stage.stage);
    if (!stage || !definition?.curve) return nothing;
    if (hasSections(stage.values)) return html`<equaliser-curve .state=${this.state} .shape=${this.shape} .low=${this.low} .stage=${stage} .touched=${this.visited}></equaliser-curve>`;
    return this.curveOpen ? html`<response-curve .curve=${definition.curve(stage.values, this.state.live.baseRateHz * this.state.setting.path.oversamplingFactor)} .name=${definition.title}></response-curve>` : nothing;
  }

  /** Opens a circuit's curve, which stands under its drawing. */
  #curveButton(stage: PathStage | undefined): unknown {
    if (!stage || !stageById(stage.stage).curve || hasSections(stage.values)) return nothing;
    return html`<button class="curve" aria-expanded=${this.curveOpen} @click=${() => { this.curveOpen = !this.curveOpen; }}>Curve</button>`;
  }

  #visit(event: Event): void {
    const editor = event.composedPath().find((each): each is HTMLElement => each instanceof HTMLElement && each.localName === 'value-editor');
    this.visited = editor?.dataset['parameter'] ?? this.visited;
  }

  #watch(action: Action): void {
    if (action.kind === 'set-value') this.changing = this.visited = action.parameter;
  }

  #openSlip(event: CustomEvent<{ parameter: string }>): void {
    event.preventDefault();
    this.slip = event.detail.parameter;
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('value-slip')?.focus());
  }

  #closeSlip(): void {
    const parameter = this.slip;
    this.slip = null;
    if (parameter !== null) void this.updateComplete.then(() => this.#editorOf(parameter)?.focus());
  }

  #openRow(parameter: string): void {
    this.touched = parameter;
    void this.updateComplete.then(() => this.focusValue(parameter));
  }
}

/** Those that do anything at these values. */
function shownParameters({ parameters }: SheetDefinition, stage: PathStage | undefined): readonly Parameter[] {
  const relevant = stage && stageById(stage.stage).relevant?.(stage.values);
  return relevant ? parameters.filter(({ id }) => relevant.includes(id)) : parameters;
}

/** Whether any value is that of a component bought by series. */
function steppedBySeries({ parameters }: SheetDefinition): boolean {
  return parameters.some((parameter) => parameter.kind === 'number' && ['resistance', 'capacitance', 'inductance'].includes(parameter.quantity));
}

/** Parameters that have a place on the drawing where some choice is made otherwise: as it is now they belong to nothing that is wired. */
function drawnInOtherWays(definition: StageDefinition, values: StageValues): ReadonlySet<string> {
  if (!definition.drawingFor) return new Set();
  const ways = definition.parameters.flatMap((parameter) => (parameter.kind === 'choice' ? parameter.options.map(({ id }) => ({ ...values, [parameter.id]: id })) : []));
  return new Set(ways.flatMap((way) => [...drawnParameters({ drawing: definition.drawingFor!(way) })]));
}

/** Parameters that have a place on the drawing. */
export function drawnParameters({ drawing }: Pick<SheetDefinition, 'drawing'>): ReadonlySet<string> {
  if (drawing === null) return new Set();
  const placed = drawing.placements.flatMap(({ parameter, label }) => (parameter !== undefined && label ? [parameter] : []));
  return new Set([...placed, ...drawing.values.map(({ parameter }) => parameter)]);
}

customElements.define('stage-sheet', StageSheet);

declare global {
  interface HTMLElementTagNameMap {
    'stage-sheet': StageSheet;
  }
}
