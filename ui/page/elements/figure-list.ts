/** The figures there are, as plates listed by number; each opens beside the stage. Sends `open-figure`. */
import { css, html } from 'lit';
import { figureViews } from '../../../dsp/measure/figures/index.ts';
import type { AnyFigureView } from '../../../dsp/measure/figures/index.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

/** "Fig. 2" */
export function figureNumber(view: AnyFigureView): string {
  return `Fig. ${1 + figureViews.indexOf(view)}`;
}

export class FigureList extends BenchElement {
  static override styles = [base, css`
    h2 { font-size: 0.9375rem; line-height: 1.25rem; margin-bottom: 4px; }
    ol { list-style: none; }
    button { display: grid; grid-template-columns: 3rem minmax(0, 1fr); width: 100%; font-size: 0.8125rem; line-height: 1.125rem; padding: 3px 0; }
    button[aria-pressed='true'] { font-weight: 600; }
    .number { font-style: italic; color: var(--pencil); }
    @media (pointer: coarse) { button { align-items: center; } }
    @media print { :host { display: none; } }
  `];

  protected override render(): unknown {
    const { open } = this.state.session.figures;
    return html`<h2>Figures</h2><ol>${figureViews.map((view) => html`<li><button data-view=${view.id} aria-pressed=${view.id === open} title=${view.help}
      @click=${() => this.send({ kind: 'open-figure', view: view.id === open ? null : view.id })}><span class="number">${figureNumber(view)} </span><span>${view.title}</span></button></li>`)}</ol>`;
  }
}

customElements.define('figure-list', FigureList);
