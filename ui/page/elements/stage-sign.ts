/** The frame of a stage on the path, with its sign and the wire: through the frame in circuit, beneath it out of circuit. */
import { LitElement, css, html, nothing, svg } from 'lit';
import type { StageDefinition } from '../../../dsp/stages/contract.ts';
import { signParts } from '../drawing/stage-sign.ts';
import { weightPx } from '../../drawing/symbols.ts';
import { base } from '../styles/base.ts';

export class StageSign extends LitElement {
  static override styles = [base, css`
    :host { display: block; }
    svg { display: block; width: 100%; height: 48px; overflow: hidden; }
    svg svg { overflow: visible; }
    .frame { fill: var(--sheet); stroke: var(--ink); stroke-width: 2; }
    .out .frame { stroke-dasharray: 5 3; }
    .wire { fill: none; stroke: var(--ink); stroke-width: 1.5; }
    .stroke { fill: none; stroke: var(--ink); vector-effect: non-scaling-stroke; }
    .filled { fill: var(--ink); stroke: none; }
    .strike { stroke: var(--madder); stroke-width: 3; }
  `];
  static override properties = { stage: { attribute: false }, inCircuit: { attribute: false }, faulty: { attribute: false } };

  declare stage: Pick<StageDefinition, 'id' | 'drawing'>;
  declare inCircuit: boolean;
  /** Struck through. */
  declare faulty: boolean;

  constructor() {
    super();
    this.stage = { id: '', drawing: null };
    this.inCircuit = true;
    this.faulty = false;
  }

  protected override render(): unknown {
    // The frame is 48 wide in the middle of whatever width there is; the wire runs on to both edges.
    return html`<svg class=${this.inCircuit ? 'in' : 'out'} aria-hidden="true">
      <svg x="50%" overflow="visible">
        ${this.inCircuit ? svg`<path class="wire" d="M-400 24H-24M24 24H400" />`
          : svg`<path class="wire" d="M-400 24H-32V45H32V24H400" />`}
        <rect class="frame" x="-24" y="8" width="48" height="32" />
        <g transform="translate(-24 8)">${signParts(this.stage).map(({ transform, strokes }) => svg`<g transform=${transform}>${strokes.map((stroke) => svg`
          <path class=${stroke.filled ? 'filled' : 'stroke'} d=${stroke.path} stroke-width=${Math.min(2, weightPx[stroke.weight])} />`)}</g>`)}</g>
        ${this.faulty ? svg`<path class="strike" d="M-28 44L28 4" />` : nothing}
      </svg></svg>`;
  }
}

customElements.define('stage-sign', StageSign);

declare global {
  interface HTMLElementTagNameMap {
    'stage-sign': StageSign;
  }
}
