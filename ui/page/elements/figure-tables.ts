/** The tables behind a figure. A row that can be heard offers to put its subject on trial (`on-trial`). */
import { css, html, nothing } from 'lit';
import type { FigureTable } from '../../../dsp/measure/figures/index.ts';
import type { OnTrial } from '../../../dsp/path/index.ts';
import { cellText, columnHeading } from '../../plot/index.ts';
import { base } from '../styles/base.ts';
import { titleFace } from '../styles/type.ts';
import { BenchElement } from './bench-element.ts';

/** A longer table scrolls within itself, under its headings. */
const mostRows = 14;

export class FigureTables extends BenchElement {
  static override properties = { ...BenchElement.properties, tables: { attribute: false } };
  static override styles = [base, css`
    .scroller { overflow: auto; scrollbar-width: thin; scrollbar-color: var(--edge) transparent; border-bottom: 1px solid var(--edge); }
    .scroller.long { max-height: 22rem; }
    .scroller + .scroller { margin-top: 16px; }
    table { border-collapse: collapse; font-size: 0.8125rem; line-height: 1.125rem; min-width: 100%; }
    thead th { position: sticky; top: 0; background: var(--paper); font: italic 400 0.8125rem/1.125rem ${titleFace}; color: var(--pencil); vertical-align: bottom; box-shadow: 0 1px var(--edge); }
    th, td { padding: 4px 12px 4px 0; text-align: end; white-space: nowrap; }
    th.words, td.words { text-align: start; white-space: normal; min-width: 7rem; vertical-align: baseline; }
    th:first-child, td:first-child { padding-left: 3px; }
    th.words:first-child { min-width: 9rem; }
    tbody tr { border-bottom: 1px solid var(--grid); }
    tbody th { font-weight: 600; }
    .trial { white-space: nowrap; padding: 0 8px; min-height: 24px; }
    @media (forced-colors: active) { thead th { background: Canvas; border-bottom: 1px solid CanvasText; } }
    @media print { .scroller { max-height: none; overflow: visible; } .trial { display: none; } }
  `];

  declare tables: readonly FigureTable[];

  constructor() {
    super();
    this.tables = [];
  }

  protected override render(): unknown {
    return this.tables.map((table, index) => this.#table(table, this.tables.length > 1 ? `table ${index + 1} of the figure` : 'table of the figure'));
  }

  /** Beside the name of what is heard, where it is in sight however far the row goes on. */
  #trial(trial: OnTrial | undefined, name: string): unknown {
    return html`<td>${trial ? html`<button class="boxed trial" aria-label=${`Put on trial: ${name}`} @click=${() => this.send({ kind: 'on-trial', onTrial: trial })}>Put on trial</button>` : nothing}</td>`;
  }

  #table(table: FigureTable, name: string): unknown {
    const long = table.rows.length > mostRows;
    const trials = table.rows.some(({ trial }) => trial !== undefined);
    const worded = table.columns.map((_, column) => table.rows.some(({ cells }) => typeof cells[column] === 'string'));
    // Scrolled by keys too, so it takes the focus.
    return html`<div class=${long ? 'scroller long' : 'scroller'} tabindex="0" role="group" aria-label=${name}><table>
      <thead><tr>${table.columns.map((column, index) => html`<th scope="col" class=${worded[index] ? 'words' : ''}>${columnHeading(column)}</th>${trials && index === 0 ? html`<th scope="col"><span class="unseen">to be heard</span></th>` : nothing}`)}</tr></thead>
      <tbody>${table.rows.map(({ cells, trial }) => html`<tr>${cells.map((cell, index) => {
        const text = cellText(cell, table.columns[index]!);
        const kind = worded[index] ? 'words' : '';
        return index === 0 ? html`<th scope="row" class=${kind}>${text}</th>${trials ? this.#trial(trial, text) : nothing}` : html`<td class=${kind}>${text}</td>`;
      })}</tr>`)}</tbody>
    </table></div>`;
  }
}

customElements.define('figure-tables', FigureTables);
