/**
 * One value: a spin button that is dragged, stepped or typed into. Sends `set-value` with its phase, `refuse-value`, `leave-value`; where a
 * finger taps it, asks for the slip (`value-slip-wanted`, cancelable: whoever shows the slip cancels it, else typing begins in place).
 */
import { LitElement, html, nothing } from 'lit';
import { nameOf } from '../../documents/value-words.ts';
import { parseQuantity, readEntry, splitQuantity, steppedValue, writeValue } from '../../../dsp/path/index.ts';
import type { SeriesName, StepSize } from '../../../dsp/path/index.ts';
import type { ChoiceParameter, NumberParameter, Parameter } from '../../../dsp/stages/contract.ts';
import type { GesturePhase } from '../state.ts';
import { sendAction } from './send-action.ts';
import { ValueDrag } from './value-drag.ts';
import { valueEditorStyles } from './value-editor-styles.ts';
import { kinOf, plainNumber, valueText } from './value-words.ts';

/** Sound may lag a value by this much before it is said. */
export const lagMs = 100;

export class ValueEditor extends LitElement {
  static override styles = valueEditorStyles;
  static override properties = {
    stageKey: { attribute: false },
    parameter: { attribute: false },
    value: { attribute: false },
    fullScaleDbu: { attribute: false },
    series: { attribute: false },
    sounding: { attribute: false },
    refusal: { attribute: false },
    typed: { state: true },
    lags: { state: true },
    focused: { state: true },
  };

  declare stageKey: string;
  declare parameter: Parameter;
  declare value: number | string;
  /** Calibration: 0 dBFS in dBu. */
  declare fullScaleDbu: number;
  declare series: SeriesName;
  /** Whether this value is what sounds (true while nothing plays). */
  declare sounding: boolean;
  /** Why the last entry was not taken; null when it was. */
  declare refusal: string | null;
  /** Text being typed; null when not typing. */
  declare private typed: string | null;
  declare private lags: boolean;
  declare private focused: boolean;

  #drag: ValueDrag | null = null;
  /** The field gives way to the spin button, or takes its place: the focus only seems to leave. */
  #swapping = false;
  /** Whether the last press was a finger's: two quick taps are not a double click. */
  #byFinger = false;
  /** The finger that is being lifted has opened something here. */
  #tappedNow = false;
  #lagTimer: ReturnType<typeof setTimeout> | undefined;

  constructor() {
    super();
    this.stageKey = '';
    this.fullScaleDbu = 24;
    this.series = 'E24';
    this.sounding = true;
    this.refusal = null;
    this.typed = null;
    this.lags = false;
    this.focused = false;
    this.addEventListener('focusin', () => { this.focused = true; });
    this.addEventListener('focusout', (event) => this.#left(event));
  }

  override focus(options?: FocusOptions): void {
    const place = this.renderRoot.querySelector<HTMLElement>('.value');
    if (place) place.focus(options);
    else void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('.value')?.focus(options));
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#lagTimer);
    if (this.#drag?.moved) this.#cancelDrag();
    this.#drag = null;
  }

  protected override willUpdate(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('sounding')) {
      clearTimeout(this.#lagTimer);
      if (this.sounding) this.lags = false;
      else this.#lagTimer = setTimeout(() => { this.lags = true; }, lagMs);
    }
    if (this.parameter !== undefined) this.toggleAttribute('changed', this.value !== this.parameter.default);
  }

  protected override updated(changed: Map<PropertyKey, unknown>): void {
    if (!changed.has('typed')) return;
    const was = changed.get('typed') as string | null | undefined;
    if (this.typed !== null && (was === null || was === undefined)) {
      const field = this.renderRoot.querySelector('input')!;
      field.focus();
      if (this.typed === this.#split().figure) field.select();
      else field.setSelectionRange(this.typed.length, this.typed.length);
    }
  }

  #split(): { figure: string; unit: string } {
    const { quantity, unit } = this.parameter as NumberParameter;
    return splitQuantity(this.value as number, quantity, unit);
  }

  protected override render(): unknown {
    if (this.parameter === undefined || this.value === undefined) return nothing;
    if (this.parameter.kind === 'choice') return this.#choice(this.parameter);
    const number = this.parameter;
    const kin = this.focused && this.typed === null ? kinOf(this.value as number, number, this.fullScaleDbu) : '';
    return html`
      ${this.typed === null ? this.#spinButton(number) : this.#field(number, this.typed)}
      ${this.lags ? html`<span class="lag" aria-hidden="true">…</span>` : nothing}
      ${this.refusal ? html`<span id="refusal" class="under error note" role="status">${this.refusal}</span>`
        : kin !== '' ? html`<span class="under note kin">${kin}</span>` : nothing}`;
  }

  #spinButton(number: NumberParameter): unknown {
    const value = this.value as number;
    return html`<span class="value" role="spinbutton" tabindex="0" aria-label=${nameOf(number)}
      aria-valuenow=${plainNumber(value)} aria-valuemin=${plainNumber(number.minimum)} aria-valuemax=${plainNumber(number.maximum)} aria-valuetext=${valueText(value, number)}
      aria-invalid=${this.refusal ? 'true' : nothing} aria-errormessage=${this.refusal ? 'refusal' : nothing}
      aria-describedby=${this.refusal ? 'refusal' : nothing} title=${number.help}
      @keydown=${this.#key} @pointerdown=${this.#press} @pointermove=${this.#pull} @pointerup=${this.#release} @touchend=${this.#keepClick}
      @pointercancel=${this.#cancelDrag} @dblclick=${this.#doubleClick}
      ><span class="figure">${writeValue(value, number)}</span></span>`;
  }

  #field(number: NumberParameter, typed: string): unknown {
    const { unit } = this.#split();
    const read = parseQuantity(typed, { quantity: number.quantity, unit, fullScaleDbu: this.fullScaleDbu });
    const lettered = /[^\d.,\s+−-]/.test(typed);
    return html`<span class="typing"><input type="text" class="value" aria-label=${nameOf(number)} aria-describedby="echo" autocomplete="off"
        spellcheck="false" autocapitalize="off" .value=${typed} style=${`width:${Math.max(4, typed.length + 1)}ch`}
        @input=${(event: Event) => { this.typed = (event.target as HTMLInputElement).value; }} @keydown=${this.#fieldKey}
      ><span class=${lettered ? 'unit dim' : 'unit'}>${unit}</span></span>
      <span id="echo" class="under note computed">${read.ok ? read.echo : ''}</span>`;
  }

  #choice(choice: ChoiceParameter): unknown {
    return html`<select class="value" aria-label=${nameOf(choice)} title=${choice.help}
      @change=${(event: Event) => this.#send((event.target as HTMLSelectElement).value, 'end')}>
      ${choice.options.map((option) => html`<option value=${option.id} ?selected=${option.id === this.value}>${option.label}</option>`)}
    </select>${this.refusal ? html`<span class="under error note" role="status">${this.refusal}</span>` : nothing}`;
  }

  #send(value: number | string, phase: GesturePhase): void {
    sendAction(this, { kind: 'set-value', stageKey: this.stageKey, parameter: this.parameter.id, value, phase });
  }

  #entry(): Parameters<typeof readEntry>[1] {
    return { parameter: this.parameter as NumberParameter, kept: this.value as number, printedUnit: this.#split().unit, fullScaleDbu: this.fullScaleDbu };
  }

  /** One key step; also what − and + of the slip do. */
  step(direction: 1 | -1, size: StepSize): void {
    this.#send(steppedValue(this.value as number, this.parameter as NumberParameter, direction, size, this.series), 'step');
  }

  restoreDefault(): void {
    this.#drag = null;
    this.#send(this.parameter.default, 'end');
  }

  #doubleClick(): void {
    if (!this.#byFinger) this.restoreDefault();
  }

  /** Opens the field; without text the number stands in it, selected. */
  beginTyping(text?: string): void {
    if (this.parameter.kind !== 'number') return;
    this.focused = true;
    this.#swap(text ?? this.#split().figure);
  }

  #key(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const number = this.parameter as NumberParameter;
    const size: StepSize = event.shiftKey ? 'fine' : 'step';
    switch (event.key) {
      case 'ArrowUp': case 'ArrowRight': this.step(1, size); break;
      case 'ArrowDown': case 'ArrowLeft': this.step(-1, size); break;
      case 'PageUp': this.step(1, 'page'); break;
      case 'PageDown': this.step(-1, 'page'); break;
      case 'Home': this.#send(number.minimum, 'step'); break;
      case 'End': this.#send(number.maximum, 'step'); break;
      case 'Enter': this.beginTyping(); break;
      case 'Backspace': case 'Delete': this.restoreDefault(); break;
      case 'Escape':
        // Not kept to itself: Escape silences whatever else it also cancels.
        if (this.#drag) this.#cancelDrag();
        return;
      default:
        if (!/^[\d+\-−.,]$/.test(event.key)) return;
        this.beginTyping(event.key);
    }
    event.preventDefault();
    event.stopPropagation();
  }

  /** Between reading and typing, the focus staying on the value. */
  #swap(typed: string | null): void {
    this.typed = typed;
    this.#swapping = true;
    void this.updateComplete.then(() => {
      if (typed === null) this.focus();
      this.#swapping = false;
    });
  }

  #fieldKey(event: KeyboardEvent): void {
    if (event.key === 'Enter') {
      event.preventDefault();
      event.stopPropagation();
      this.#take();
      this.#swap(null);
    } else if (event.key === 'Escape') {
      this.#swap(null);
    }
  }

  /** Text becomes a value, or the old one is kept and the reason said. */
  #take(): void {
    const { typed } = this;
    if (typed === null) return;
    this.typed = null;
    const { figure } = this.#split();
    // An untouched field means the exact value, not its four digits.
    const read = typed === figure ? null : readEntry(typed, this.#entry());
    if (read === null) this.#send(this.value, 'end');
    else if (read.ok) this.#send(read.value, 'end');
    else sendAction(this, { kind: 'refuse-value', stageKey: this.stageKey, parameter: this.parameter.id, sentence: read.sentence });
  }

  #left(event: FocusEvent): void {
    if (event.relatedTarget instanceof Node && this.renderRoot.contains(event.relatedTarget)) return;
    if (this.#swapping) return;
    this.focused = false;
    this.#take();
    if (this.parameter !== undefined) sendAction(this, { kind: 'leave-value', stageKey: this.stageKey, parameter: this.parameter.id });
  }

  #press(event: PointerEvent): void {
    if (event.button !== 0 || !event.isPrimary) return;
    this.#byFinger = event.pointerType === 'touch';
    this.#drag = new ValueDrag(event, this.parameter as NumberParameter, this.value as number);
    if (!this.#drag.touch) {
      event.preventDefault();
      this.focus({ preventScroll: true });
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
    }
  }

  #pull(event: PointerEvent): void {
    const drag = this.#drag;
    if (drag === null || event.pointerId !== drag.pointerId) return;
    const move = drag.move(event, this.series);
    if (move === null) return;
    if (move.begun) {
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
      this.#send(drag.startValue, 'begin');
    }
    this.#send(move.value, 'move');
  }

  #release(event: PointerEvent): void {
    const drag = this.#drag;
    if (drag === null || event.pointerId !== drag.pointerId) return;
    this.#drag = null;
    if (drag.moved) this.#send(drag.lastValue, 'end');
    else if (drag.touch) this.#tapped();
  }

  /** A tap is done with once it has opened something: its click would fall on what stands there then. */
  #keepClick(event: TouchEvent): void {
    if (this.#tappedNow) event.preventDefault();
    this.#tappedNow = false;
  }

  #tapped(): void {
    this.#tappedNow = true;
    const wanted = new CustomEvent('value-slip-wanted', { detail: { parameter: this.parameter.id, editor: this }, bubbles: true, composed: true, cancelable: true });
    this.focus({ preventScroll: true });
    if (this.dispatchEvent(wanted)) this.beginTyping();
  }

  #cancelDrag(): void {
    const drag = this.#drag;
    this.#drag = null;
    if (drag?.moved) this.#send(drag.startValue, 'cancel');
  }
}

customElements.define('value-editor', ValueEditor);

declare global {
  interface HTMLElementTagNameMap {
    'value-editor': ValueEditor;
  }
}
