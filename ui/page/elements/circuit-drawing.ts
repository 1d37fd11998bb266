/**
 * A stage's circuit, drawn from its data: strokes, designators and node voltages in SVG, values as editors over it. Without `figures` the
 * drawing scales to its place and a touch on a part asks for its row (`part-touched`, detail: parameter).
 */
import { LitElement, html, nothing, svg } from 'lit';
import { writeVolts } from '../../documents/value-words.ts';
import { headingOf } from '../../../dsp/path/index.ts';
import { gridPx } from '../../../dsp/stages/drawing.ts';
import type { Drawing, Placement, Point } from '../../../dsp/stages/drawing.ts';
import type { Parameter } from '../../../dsp/stages/contract.ts';
import { placementTransform, symbolStrokes, weightPx } from '../../drawing/symbols.ts';
import type { Stroke } from '../../drawing/symbols.ts';
import { junctionDots } from '../../drawing/wire-groups.ts';
import { circuitDrawingStyles } from './circuit-drawing-styles.ts';
import type { ValueContext } from './value-context.ts';
import { emptyValueContext, renderEditor } from './value-context.ts';

/** Px from the baseline of the designator to that of the value. */
const valueBelowPx = 18;

export class CircuitDrawing extends LitElement {
  static override styles = circuitDrawingStyles;
  static override properties = {
    drawing: { attribute: false }, name: { attribute: false }, parameters: { attribute: false }, context: { attribute: false },
    nodeVolts: { attribute: false }, faultAt: { attribute: false }, figures: { attribute: false },
  };

  declare drawing: Drawing;
  /** "single-ended stage": named in the description of the picture. */
  declare name: string;
  declare parameters: readonly Parameter[];
  declare context: ValueContext;
  declare nodeVolts: Readonly<Record<string, number>>;
  /** Point to circle, grid units; null: none. */
  declare faultAt: Point | null;
  /** Whether designators, values and readings stand on the drawing. */
  declare figures: boolean;

  constructor() {
    super();
    this.name = 'stage';
    this.parameters = [];
    this.context = emptyValueContext;
    this.nodeVolts = {};
    this.faultAt = null;
    this.figures = true;
  }

  /** The editor of one parameter, when it stands on this drawing. */
  editorOf(parameter: string): HTMLElement | null {
    return this.renderRoot.querySelector<HTMLElement>(`value-editor[data-parameter="${CSS.escape(parameter)}"]`);
  }

  protected override render(): unknown {
    if (this.drawing === undefined) return nothing;
    const width = this.drawing.width * gridPx;
    const height = this.drawing.height * gridPx;
    return html`<div class=${this.figures ? 'sheet natural' : 'sheet'} style=${this.figures ? `width:${width}px;height:${height}px` : ''}>
      <svg viewBox="0 0 ${width} ${height}" role="img" aria-label=${`circuit of the ${this.name}`}>
        ${squares(width, height)}
        ${this.drawing.wires.map((wire) => svg`<polyline class="wire" points=${wire.map(([x, y]) => `${x * gridPx},${y * gridPx}`).join(' ')} />`)}
        ${this.drawing.placements.map((placement) => this.#symbol(placement))}
        ${junctionDots(this.drawing).map(([x, y]) => svg`<circle class="dot" cx=${x * gridPx} cy=${y * gridPx} r="3" />`)}
        ${this.figures ? this.#words() : nothing}
        ${this.faultAt === null ? nothing : svg`<circle class="fault-mark" cx=${this.faultAt[0] * gridPx} cy=${this.faultAt[1] * gridPx} r="14" />`}
      </svg>
      ${this.figures ? this.#editors() : nothing}
    </div>`;
  }

  #symbol(placement: Placement): unknown {
    const { parameter } = placement;
    return svg`<g class="symbol" transform=${placementTransform(placement)}>${symbolStrokes[placement.symbol].map(strokePath)}
      ${this.figures || parameter === undefined ? nothing
        : svg`<rect class="touch" x="-28" y="-28" width="56" height="56" @click=${() => this.#touch(parameter)} />`}</g>`;
  }

  #touch(parameter: string): void {
    this.dispatchEvent(new CustomEvent('part-touched', { detail: parameter, bubbles: true, composed: true }));
  }

  /** Places of all values on the sheet by parameter: baseline of the designator, grid units. */
  #places(): Map<string, Point> {
    const places = new Map<string, Point>();
    for (const { parameter, label } of this.drawing.placements) if (parameter !== undefined && label) places.set(parameter, label);
    for (const { parameter, at } of this.drawing.values) places.set(parameter, at);
    return places;
  }

  #words(): unknown {
    const places = this.#places();
    return svg`
      ${this.parameters.map((parameter) => {
        const at = places.get(parameter.id);
        return at && word(at, headingOf(parameter), 'designator', parameter.id);
      })}
      ${this.drawing.placements.map(({ component, parameter, label }) => (label && component !== undefined && parameter === undefined ? word(label, component, 'designator') : nothing))}
      ${this.drawing.nodeReadings.map(({ node, at }) => {
        const volts = this.nodeVolts[node];
        return volts === undefined ? nothing : word(at, writeVolts(volts), 'reading', node);
      })}`;
  }

  /** In the order of the table, so that Tab walks the values as the parts list does. */
  #editors(): unknown {
    const places = this.#places();
    return this.parameters.map((parameter) => {
      const at = places.get(parameter.id);
      if (!at) return nothing;
      return html`<div class=${2 * at[0] > this.drawing.width ? 'place end' : 'place'} style=${`left:${at[0] * gridPx}px;top:${at[1] * gridPx + valueBelowPx}px`}>${renderEditor(parameter, this.context)}</div>`;
    });
  }
}

function word([x, y]: Point, text: string, kind: 'designator' | 'reading', of?: string): unknown {
  return svg`<text class=${kind} x=${x * gridPx} y=${y * gridPx} data-of=${of ?? nothing} aria-hidden="true">${text}</text>`;
}

function strokePath({ path, weight, filled, dashed }: Stroke): unknown {
  return svg`<path class=${filled ? 'filled' : 'stroke'} d=${path} stroke-width=${weightPx[weight]} stroke-dasharray=${dashed ? '5 3' : nothing} />`;
}

/** Squared paper, 16 px. */
function squares(width: number, height: number): unknown {
  return svg`<defs><pattern id="squares" width="16" height="16" patternUnits="userSpaceOnUse"><path class="square" d="M16 0H0V16" /></pattern></defs>
    <rect width=${width} height=${height} class="ground" /><rect width=${width} height=${height} fill="url(#squares)" />`;
}

customElements.define('circuit-drawing', CircuitDrawing);

declare global {
  interface HTMLElementTagNameMap {
    'circuit-drawing': CircuitDrawing;
  }
}
