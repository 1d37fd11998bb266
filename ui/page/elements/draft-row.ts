/** The four drafts in a row: what each holds, lay down, take up, and which two are on trial as a pair. */
import { css, html, nothing } from 'lit';
import { draftNames, type DraftName, type Pair, type SideName } from '../drafts-state.ts';
import { hearsBench, settingOf, sideNames, sideWords } from '../pair.ts';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';

export class DraftRow extends BenchElement {
  static override properties = { ...BenchElement.properties, chosen: { state: true } };
  static override styles = [base, shelfStyles, css`
    section { padding-block: 8px 12px; margin-block: 8px; }
    .cells { list-style: none; display: grid; grid-template-columns: repeat(4, minmax(0, 1fr)); gap: 8px 24px; margin-top: 4px; }
    :host([shape='docked']) .cells, :host([shape='narrow']) .cells { grid-template-columns: repeat(2, minmax(0, 1fr)); }
    .cells > li { border-top: 1px solid var(--edge); padding-top: 4px; min-width: 0; }
    .cells > li.heard { border-top: 3px solid var(--pen); padding-top: 2px; }
    .name { display: flex; align-items: baseline; gap: 8px; min-height: 24px; }
    .name b { font: 600 1.125rem/1.5rem 'STIX Two Text', 'Liberation Serif', serif; flex: none; min-width: 1.25rem; }
    .name input { flex: 1 1 auto; min-width: 0; width: 100%; text-overflow: ellipsis; background: transparent; color: inherit; font: inherit; border: 0; border-bottom: 1.5px dotted transparent; padding: 0; min-height: 24px; }
    .name input:hover, .name input:focus { border-bottom-color: var(--pen); }
    .acts, .pair { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; font-size: 0.8125rem; line-height: 1.125rem; }
    .pair { margin-top: 8px; gap: 4px 12px; }
    .pair h3 { font-size: 0.875rem; line-height: 1.25rem; }
    @media (pointer: coarse) { .name input { min-height: 44px; } }
  `];

  /** What the two choosers stand at; null: not touched yet. */
  declare private chosen: Pair | null;

  constructor() {
    super();
    this.chosen = null;
  }

  override render() {
    const { drafts, pair } = this.state.session;
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Drafts</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <ol class="cells">${draftNames.map((name) => this.#cell(name))}</ol>
      ${draftNames.some((name) => drafts[name] !== null) ? this.#pair(pair) : html`<p class="note pencil">Lay down what is on the bench, change it, lay it down again in another draft: then any two are compared, equally loud, by one key.</p>`}
    </section>`;
  }

  #cell(name: DraftName) {
    const draft = this.state.session.drafts[name];
    const { pair } = this.state.session;
    const heard = pair !== null && (pair.in === name || pair.out === name);
    const words = (verb: string, of = '') => html`${verb}<span class="unseen">${of} ${name}</span>`;
    return html`<li class=${heard ? 'heard' : ''}>
      <div class="name"><b>${name}</b>${draft
        ? html`<input type="text" aria-label=${`Name of draft ${name}`} maxlength="200" spellcheck="false" .value=${draft.setting.title} title=${draft.setting.title} @change=${(event: Event) => this.#renamed(event, name)} />`
        : html`<span class="pencil">empty</span>`}</div>
      <div class="note pencil">${draft ? html`laid down ${draft.laidDown}${heard ? ', on trial' : ''}` : '\u00a0'}</div>
      <div class="acts">
        <button title=${`What is on the bench into draft ${name}`} @click=${() => this.send({ kind: 'lay-down', draft: name })}>${words('Lay down', ' in')}</button>
        ${draft ? html`
          <button title=${`Draft ${name} onto the bench; undo brings back what was there`} @click=${() => this.send({ kind: 'take-up', draft: name })}>${words('Take up')}</button>
          <button @click=${() => this.send({ kind: 'clear-draft', draft: name })}>${words('Clear')}</button>` : nothing}
      </div>
    </li>`;
  }

  #pair(onTrial: Pair | null) {
    const { first, second } = this.#choice(onTrial);
    const isOn = onTrial !== null && onTrial.in === first && onTrial.out === second;
    return html`<div class="pair" role="group" aria-labelledby="pair"><h3 id="pair">Pair on trial</h3>
      ${this.#chooser('First side', first, (side) => { this.chosen = { in: side, out: second }; })} against
      ${this.#chooser('Second side', second, (side) => { this.chosen = { in: first, out: side }; })}
      <button class=${isOn || first === second ? 'boxed pencil' : 'boxed'} aria-disabled=${isOn || first === second} @click=${() => this.send({ kind: 'pair-on-trial', pair: { in: first, out: second } })}>Put on trial</button>
      ${onTrial === null ? nothing : html`<button class="boxed" @click=${() => this.send({ kind: 'pair-on-trial', pair: null })}>Whole path on trial again</button>`}
      <span class="note pencil">${first === second ? 'Choose two different sides.' : hearsBench({ pair: onTrial }) ? '' : 'What you dial on the bench is not heard meanwhile.'}</span>
    </div>`;
  }

  #chooser(label: string, chosen: SideName, choose: (side: SideName) => void) {
    const filled = sideNames.filter((side) => settingOf(this.state, side) !== null);
    return html`<select aria-label=${label} @change=${(event: Event) => choose((event.target as HTMLSelectElement).value as SideName)}>
      ${filled.map((side) => html`<option value=${side} .selected=${side === chosen}>${sideWords(side)}</option>`)}</select>`;
  }

  /** What was chosen here, else what is on trial, else the first two drafts, else the bench against the one there is. */
  #choice(onTrial: Pair | null): { readonly first: SideName; readonly second: SideName } {
    const filled = sideNames.filter((side) => settingOf(this.state, side) !== null);
    const wanted = this.chosen ?? onTrial;
    if (wanted !== null && filled.includes(wanted.in) && filled.includes(wanted.out)) return { first: wanted.in, second: wanted.out };
    const [first, second] = filled.length > 2 ? filled.slice(1) : filled;
    return { first: first!, second: second! };
  }

  #renamed(event: Event, draft: DraftName): void {
    const field = event.target as HTMLInputElement;
    this.send({ kind: 'rename-draft', draft, title: field.value });
    field.value = this.state.session.drafts[draft]?.setting.title ?? '';
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}
customElements.define('draft-row', DraftRow);
