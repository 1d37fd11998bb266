/** Parts of the loop that the listener lists before comparing blind, each with what one gain over all of them leaves in it. */
import { css, html, nothing } from 'lit';
import { mostExcerpts } from '../../../dsp/listening/index.ts';
import { largestComparedResidualDb } from '../../../dsp/setting/index.ts';
import type { ExcerptMatch } from '../blind-state.ts';
import { presentExcerpt } from '../reduce-blind.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

export class ExcerptList extends BenchElement {
  static override styles = [base, css`
    :host { display: block; }
    ol { list-style: none; }
    li { display: flex; flex-wrap: wrap; gap: 0 16px; align-items: baseline; min-height: 2rem; }
    input { width: 10rem; max-width: 100%; }
    .figure { font-variant-numeric: tabular-nums; }
    .over { color: var(--madder); font-style: normal; }
    @media (pointer: coarse) { li { min-height: 44px; } }
  `];

  override render() {
    const { excerpts, blind } = this.state.live;
    const match: ExcerptMatch = blind?.kind === 'setup' ? blind.excerptMatch : { kind: 'none' };
    const present = presentExcerpt(this.state);
    const full = excerpts.length >= mostExcerpts;
    return html`
      <ol aria-label="Excerpts">${excerpts.map(({ name, startSeconds, endSeconds }, index) => html`<li>
        <span>Excerpt ${index + 1}</span>
        <input type="text" maxlength="60" aria-label=${`Name of excerpt ${index + 1}`} placeholder="name, if you like" .value=${name} @change=${(event: Event) => this.send({ kind: 'name-excerpt', index, name: (event.target as HTMLInputElement).value.trim() })} />
        <span class="figure">${startSeconds.toFixed(2)} to ${endSeconds.toFixed(2)} s</span>
        ${left(match, index)}
        <button aria-label=${`Remove excerpt ${index + 1}`} @click=${() => this.#remove(index)}>Remove</button></li>`)}</ol>
      <button class="boxed" id="add" aria-disabled=${present === null || full} @click=${() => present !== null && !full && this.send({ kind: 'add-excerpt' })}>Add the present region${present ? `, ${present.startSeconds.toFixed(2)} to ${present.endSeconds.toFixed(2)} s` : ''}</button>
      ${full ? html`<span>No more than ${mostExcerpts} fit.</span>` : nothing}`;
  }

  /** The focus stays in the list. */
  #remove(index: number): void {
    this.send({ kind: 'remove-excerpt', index });
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>('#add')?.focus());
  }
}
customElements.define('excerpt-list', ExcerptList);

function left(match: ExcerptMatch, index: number) {
  if (match.kind === 'measuring') return html`<span class="computed">measuring</span>`;
  if (match.kind !== 'matched') return nothing;
  const residual = Math.abs(match.residualsDb[index] ?? 0);
  return html`<span class="computed figure ${residual > largestComparedResidualDb ? 'over' : ''}">${residual.toFixed(2)} dB left</span>`;
}
