/** What a level match leaves different, third octave by third octave: since one gain cannot match everywhere. */
import { css, html, nothing, svg } from 'lit';
import { capital } from '../../documents/first-letter.ts';
import type { BandDifference, MatchDifferences } from '../../../dsp/measure/index.ts';
import { bandWords, differencesWords, hertzWords } from '../match-words.ts';
import { base } from '../styles/base.ts';
import { panelStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';

/** Of the plot, in its own units: a band is 10 wide. */
const [bandWidth, halfHeight, left, foot] = [10, 60, 34, 18];
/** Ends of the scale, dB: the least that holds all differences. */
const scales = [1, 3, 6, 12, 24] as const;
/** Bands whose frequency stands under the plot. */
const labelled = new Set([31.5, 100, 315, 1000, 3150, 10_000]);

export class MatchDifferencesPlot extends BenchElement {
  static override styles = [base, panelStyles, css`
    svg { display: block; width: 100%; max-width: 30rem; height: auto; margin-top: 4px; overflow: visible; }
    text { font: 400 11px 'Source Sans 3', 'Liberation Sans', sans-serif; fill: var(--pencil); }
    .zero { stroke: var(--ink); stroke-width: 1; } .limit { stroke: var(--grid); stroke-width: 1; }
    .bar { fill: var(--ink); } .beyond { fill: none; stroke: var(--ink); stroke-width: 1.5; } .none { stroke: var(--edge); stroke-width: 1.5; }
    summary { min-height: 24px; cursor: pointer; }
    .scroller { max-height: 16rem; overflow: auto; }
    table { border-collapse: collapse; font-size: 0.8125rem; line-height: 1.125rem; }
    th, td { padding: 2px 12px 2px 0; text-align: end; white-space: nowrap; }
    thead th { font-weight: 400; font-style: italic; color: var(--pencil); }
    @media (pointer: coarse) { summary { min-height: 44px; } }
    @media (forced-colors: active) { .bar { fill: CanvasText; } text { fill: CanvasText; } .zero, .beyond { stroke: CanvasText; } }
  `];

  override render() {
    const { match } = this.state.live;
    const differences = match.kind === 'matched' ? match.differences : undefined;
    return html`<h3>What the match leaves</h3>
      ${differences === undefined
        ? html`<p class="computed">Known once the levels are matched.</p>`
        : html`<p>${capital(differencesWords(differences))}; true peak ${bandWords(differences.truePeakDb)}. The first less the second: in less out of circuit.</p>
          ${this.#plot(differences)}
          <details><summary>As a table</summary><div class="scroller" tabindex="0" role="group" aria-label="Third octaves">${table(differences.bands)}</div></details>
          <p class="note">Third octaves after IEC 61260, gains of the match applied; a band 60 dB under the whole has no signal.</p>`}`;
  }

  #plot(differences: MatchDifferences) {
    const { bands } = differences;
    const largest = Math.max(...bands.map(({ differenceDb }) => Math.abs(differenceDb ?? 0)));
    const limitDb = scales.find((scale) => largest <= scale) ?? scales.at(-1)!;
    const width = left + bandWidth * bands.length;
    return html`<svg viewBox="0 0 ${width} ${2 * halfHeight + foot}" role="img" aria-label=${`Difference by third octaves, scale ${limitDb} dB: ${differencesWords(differences)}`}>
      ${[limitDb, 0, -limitDb].map((db) => svg`<text x=${left - 5} y=${halfHeight * (1 - db / limitDb) + (db === 0 ? 4 : db > 0 ? 9 : 0)} text-anchor="end">${db > 0 ? `+${db}` : db < 0 ? `−${-db}` : '0 dB'}</text>
        <line class=${db === 0 ? 'zero' : 'limit'} x1=${left} x2=${width} y1=${halfHeight * (1 - db / limitDb)} y2=${halfHeight * (1 - db / limitDb)}></line>`)}
      ${bands.map((band, k) => bar(band, left + bandWidth * k, limitDb))}
      ${bands.map(({ nominalHz }, k) => (labelled.has(nominalHz) ? svg`<text x=${left + bandWidth * (k + 0.5)} y=${2 * halfHeight + 14} text-anchor="middle">${nominalHz < 1000 ? nominalHz : `${nominalHz / 1000}k`}</text>` : nothing))}
    </svg>`;
  }
}
customElements.define('match-differences', MatchDifferencesPlot);

/** From the zero line; outlined where it goes beyond the scale, a dash where there is no signal. */
function bar({ differenceDb }: BandDifference, x: number, limitDb: number) {
  if (differenceDb === null) return svg`<line class="none" x1=${x + 3} x2=${x + bandWidth - 3} y1=${halfHeight} y2=${halfHeight}></line>`;
  const height = Math.min(1, Math.abs(differenceDb) / limitDb) * halfHeight;
  return svg`<rect class=${Math.abs(differenceDb) > limitDb ? 'beyond' : 'bar'} x=${x + 1.5} width=${bandWidth - 3} y=${differenceDb > 0 ? halfHeight - height : halfHeight} height=${height}></rect>`;
}

function table(bands: readonly BandDifference[]) {
  const level = (db: number): string => (db === -Infinity ? 'none' : db.toFixed(1).replace('-', '−'));
  return html`<table><thead><tr><th scope="col">band</th><th scope="col">first, dBFS</th><th scope="col">second, dBFS</th><th scope="col">difference</th></tr></thead>
    <tbody>${bands.map(({ nominalHz, inDb, outDb, differenceDb }) => html`<tr><th scope="row">${hertzWords(nominalHz)}</th><td>${level(inDb)}</td><td>${level(outDb)}</td><td>${bandWords(differenceDb)}</td></tr>`)}</tbody></table>`;
}
