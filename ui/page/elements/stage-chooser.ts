/**
 * The stages there are, by group, each with its sign: one is chosen to be inserted. One tab stop; arrows go through them, Enter takes one, Escape closes.
 * Sends `stage-chosen` (detail: identifier of the stage) and `chooser-closed`.
 */
import { LitElement, css, html } from 'lit';
import { stageGroups } from '../stage-groups.ts';
import { base } from '../styles/base.ts';
import './stage-sign.ts';

export class StageChooser extends LitElement {
  static override properties = { where: { attribute: false }, rover: { state: true } };
  static override styles = [base, css`
    .sheet { border: 1px solid var(--edge); background: var(--sheet); padding: 8px 16px 12px; }
    .head { display: flex; align-items: baseline; justify-content: space-between; gap: 16px; min-height: 32px; }
    .groups { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 13rem), 1fr)); gap: 8px 24px; align-items: start; }
    h3 { border-bottom: 1px solid var(--edge); padding-bottom: 2px; margin-bottom: 2px; }
    ul { list-style: none; }
    li button { display: grid; grid-template-columns: 56px minmax(0, 1fr); align-items: center; gap: 8px; width: 100%; min-height: 44px; border-bottom: 1px solid var(--grid); }
    li button:hover:not([disabled]) { background: var(--wash); text-decoration: none; }
    .word { font-size: 0.875rem; line-height: 1.125rem; }
    @media (forced-colors: active) { .sheet { background: Canvas; } }
  `];

  /** "after 2 push-pull": said in the heading. */
  declare where: string;
  /** Stage that holds the tab stop. */
  declare private rover: string;

  constructor() {
    super();
    this.where = '';
    this.rover = stageGroups()[0]!.stages[0]!.id;
  }

  protected override render(): unknown {
    return html`<section class="sheet" aria-labelledby="heading" @keydown=${this.#key}>
      <div class="head"><h2 id="heading">Insert a stage ${this.where}</h2><button class="boxed" @click=${this.#close}>Close</button></div>
      <div class="groups">${stageGroups().map(({ title, stages }, index) => html`<div role="group" aria-labelledby=${`group-${index}`}>
        <h3 id=${`group-${index}`}>${title}</h3>
        <ul>${stages.map((stage) => html`<li><button data-stage=${stage.id} tabindex=${stage.id === this.rover ? 0 : -1} title=${stage.title}
          @focus=${() => { this.rover = stage.id; }} @click=${() => this.#choose(stage.id)}>
          <stage-sign .stage=${stage} .inCircuit=${true}></stage-sign><span class="word">${stage.title}</span></button></li>`)}</ul>
      </div>`)}</div>
    </section>`;
  }

  /** On the stage that was chosen last, or on the first. */
  focusChoice(): void {
    this.renderRoot.querySelector<HTMLElement>('[tabindex="0"]')?.focus();
  }

  #choose(id: string): void {
    this.dispatchEvent(new CustomEvent<string>('stage-chosen', { detail: id }));
  }

  #close(): void {
    this.dispatchEvent(new CustomEvent('chooser-closed'));
  }

  /** Up and down go through all stages, left and right from group to group. */
  #key(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const groups = stageGroups().map(({ stages }) => stages.map(({ id }) => id));
    const all = groups.flat();
    const at = all.indexOf(this.rover);
    const group = groups.findIndex((ids) => ids.includes(this.rover));
    const next = (): string | undefined => {
      switch (event.key) {
        case 'ArrowDown': return all[at + 1];
        case 'ArrowUp': return all[at - 1];
        case 'ArrowRight': return groups[group + 1]?.[0];
        case 'ArrowLeft': return groups[group - 1]?.[0];
        case 'Home': return all[0];
        case 'End': return all.at(-1);
        default: return undefined;
      }
    };
    if (event.key === 'Escape') this.#close();
    else if (/^(Arrow|Home$|End$)/.test(event.key)) this.#rest(next() ?? this.rover);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #rest(id: string): void {
    this.rover = id;
    void this.updateComplete.then(() => this.focusChoice());
  }
}

customElements.define('stage-chooser', StageChooser);

declare global {
  interface HTMLElementTagNameMap {
    'stage-chooser': StageChooser;
  }
}
