/** Figures kept of one view: named by what differs from now or by hand, each with its setting to be restored. Sends `name-kept`, `restore-kept`, `drop-kept`. */
import { css, html, nothing } from 'lit';
import { keptName, pathIsAsKept } from '../kept-figures.ts';
import type { KeptFigure } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

export class KeptFigures extends BenchElement {
  static override properties = { ...BenchElement.properties, view: { attribute: false } };
  static override styles = [base, css`
    h3 { margin-top: 8px; }
    ol { list-style: none; }
    li { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; min-height: 32px; border-bottom: 1px solid var(--grid); }
    input[type='text'] { flex: 1 1 10rem; min-width: 4rem; font-weight: 600; background: transparent; border: 0; border-bottom: 1.5px dotted var(--pen); padding: 0; min-height: 24px; text-overflow: ellipsis; }
    .when { white-space: nowrap; }
    button { white-space: nowrap; }
    @media print { button { display: none; } }
  `];

  /** Id of the view whose kept figures these are. */
  declare view: string;

  protected override render(): unknown {
    const kept = this.state.session.kept.filter(({ view }) => view === this.view);
    return kept.length === 0 ? nothing : html`<h3>Kept</h3><ol>${kept.map((each) => this.#row(each))}</ol>`;
  }

  #row(kept: KeptFigure): unknown {
    const name = keptName(kept, this.state);
    const same = pathIsAsKept(kept, this.state);
    return html`<li><input type="text" maxlength="60" aria-label=${`name of what was kept at ${timeOf(kept)}`} .value=${name} title=${kept.figure.title} spellcheck="false"
        @change=${(event: Event) => this.#renamed(kept, name, event)} @keydown=${this.#key}>
      <span class="note computed when">${timeOf(kept)}</span>
      <button ?disabled=${same} aria-label=${`Restore setting of ${name}`} title="The path as it was when this was kept; Undo takes it back" @click=${() => this.send({ kind: 'restore-kept', id: kept.id })}>Restore setting</button>
      <button aria-label=${`Drop ${name}`} @click=${() => this.send({ kind: 'drop-kept', id: kept.id })}>Drop</button></li>`;
  }

  #renamed(kept: KeptFigure, name: string, event: Event): void {
    const field = event.target as HTMLInputElement;
    // The name that was made stays made, unless another was typed.
    if (field.value !== name) this.send({ kind: 'name-kept', id: kept.id, name: field.value });
    field.value = keptName(this.state.session.kept.find(({ id }) => id === kept.id) ?? kept, this.state);
  }

  #key(event: KeyboardEvent): void {
    if (event.key === 'Enter') (event.target as HTMLInputElement).blur();
  }
}

/** "21:05" of "2026-11-26 21:05". */
function timeOf({ keptAt }: KeptFigure): string {
  return keptAt.slice(11) || keptAt;
}

customElements.define('kept-figures', KeptFigures);
