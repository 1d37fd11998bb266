/** The values of a stage as rows: designator, label, value. The same editors as on the drawing. */
import { LitElement, css, html, nothing } from 'lit';
import type { NumberParameter, Parameter } from '../../../dsp/stages/contract.ts';
import { base } from '../styles/base.ts';
import { designator } from '../styles/type.ts';
import type { ValueContext } from './value-context.ts';
import { emptyValueContext, renderEditor } from './value-context.ts';
import './value-slip.ts';

export class PartsList extends LitElement {
  static override styles = [base, designator, css`
    :host { display: block; container-type: inline-size; }
    ul { list-style: none; margin: 0; padding: 0; }
    li { display: grid; grid-template-columns: 64px 1fr auto; align-items: center; column-gap: 8px; min-height: 32px; border-bottom: 1px solid var(--grid); padding-right: 8px; break-inside: avoid; }
    .nameless li { grid-template-columns: 1fr auto !important; }
    li.touched { background: var(--wash); }
    .label { min-width: 0; }
    value-slip { grid-column: 1 / -1; margin: 4px 0 8px; }
    @container (min-width: 560px) { ul { columns: 2; column-gap: 24px; } }
    @container (max-width: 420px) { :host(:not([compact])) li { min-height: 44px; } li { grid-template-columns: 56px 1fr auto; } }
    @media (pointer: coarse) { li { min-height: 44px; } }
  `];
  static override properties = {
    parameters: { attribute: false }, context: { attribute: false }, touched: { attribute: false }, slip: { attribute: false },
  };

  declare parameters: readonly Parameter[];
  declare context: ValueContext;
  /** Parameter whose row is marked, because its part was touched. */
  declare touched: string | null;
  /** Parameter whose slip is open; null: none. */
  declare slip: string | null;

  constructor() {
    super();
    this.parameters = [];
    this.context = emptyValueContext;
    this.touched = null;
    this.slip = null;
  }

  editorOf(parameter: string): HTMLElement | null {
    return this.renderRoot.querySelector<HTMLElement>(`value-editor[data-parameter="${CSS.escape(parameter)}"]`);
  }

  protected override updated(changed: Map<PropertyKey, unknown>): void {
    if (changed.has('touched') && this.touched !== null) this.editorOf(this.touched)?.closest('li')?.scrollIntoView({ block: 'nearest' });
    if (changed.has('slip') && this.slip !== null) this.renderRoot.querySelector<HTMLElement>('value-slip')?.focus();
  }

  protected override render(): unknown {
    const named = this.parameters.some(({ designator: name }) => name !== undefined);
    return html`<ul class=${named ? '' : 'nameless'}>${this.parameters.map((parameter) => html`
      <li class=${this.touched === parameter.id ? 'touched' : ''}>
        ${named ? html`<span class="designator">${parameter.designator ?? ''}</span>` : nothing}<span class="label">${parameter.label}</span>${renderEditor(parameter, this.context, true)}
        ${this.slip === parameter.id && parameter.kind === 'number' ? renderSlip(parameter, this.context) : nothing}
      </li>`)}</ul>`;
  }
}

/** The slip of one parameter. */
export function renderSlip(parameter: NumberParameter, context: ValueContext): unknown {
  return html`<value-slip .stageKey=${context.stageKey} .parameter=${parameter} .value=${context.values[parameter.id] as number}
    .fullScaleDbu=${context.fullScaleDbu} .series=${context.series} .refusal=${context.refusals[parameter.id] ?? null}></value-slip>`;
}

customElements.define('parts-list', PartsList);

declare global {
  interface HTMLElementTagNameMap {
    'parts-list': PartsList;
  }
}
