/** The report takes the whole page, for reading and for printing; what it says is made by the same templates as the file of it. */
import { css, html, unsafeCSS } from 'lit';
import { unsafeHTML } from 'lit/directives/unsafe-html.js';
import { fileStem } from '../../documents/file-stem.ts';
import { reportBody } from '../../documents/report/body.ts';
import { reportPage } from '../../documents/report/page.ts';
import { reportCss } from '../../documents/report/style.ts';
import { sheetCss } from '../../documents/paper-style.ts';
import { download } from '../download.ts';
import { localDay } from '../local-minute.ts';
import { reportOf } from '../report-of.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

export class ReportSheet extends BenchElement {
  static override styles = [base, unsafeCSS(`${sheetCss}${reportCss}`), css`
    :host { max-width: 48rem; margin: 0 auto; padding: 16px 0 48px; font-size: 1rem; line-height: 1.5rem; overflow-wrap: break-word; }
    .actions { display: flex; flex-wrap: wrap; gap: 8px 16px; margin-bottom: 16px; }
    @media print {
      .actions { display: none; }
      :host { max-width: none; padding: 0; font-size: 10.5pt; line-height: 1.4; color: black; }
    }
  `];

  override render() {
    // Every word in it has been escaped where it was put in (markup.ts).
    return html`<div class="actions">
        <button class="boxed" id="print" @click=${() => window.print()}>Print</button>
        <button class="boxed" id="save" @click=${this.#save}>Save as one HTML file</button>
        <button id="back" @click=${() => this.send({ kind: 'whole-page', page: null })}>Back to the bench</button>
      </div>
      <main>${unsafeHTML(reportBody(reportOf(this.state, localDay())).text)}</main>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('h1')?.focus();
  }

  #save(): void {
    download(reportPage(reportOf(this.state, localDay())), `${fileStem(this.state.setting.title)}.report.html`, 'text/html');
  }
}
customElements.define('report-sheet', ReportSheet);
