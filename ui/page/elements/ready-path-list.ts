/** Paths to begin from: each with its stages as signs and what to listen for. Taking one is a step that can be undone. */
import { css, html } from 'lit';
import { readyPaths } from '../../../dsp/setting/index.ts';
import type { ReadyPath } from '../../../dsp/setting/index.ts';
import { stageById } from '../../../dsp/stages/index.ts';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';
import './stage-sign.ts';

export class ReadyPathList extends BenchElement {
  static override styles = [base, shelfStyles, css`
    .signs { display: flex; flex-wrap: wrap; width: 100%; }
    stage-sign { width: 64px; }
    p { font-size: 0.8125rem; line-height: 1.125rem; }
  `];

  protected override render(): unknown {
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Ready paths</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <p class="pencil">Each takes the place of the path on the bench; Undo brings that back.</p>
      <ul class="cards">${readyPaths.map((path) => this.#entry(path))}</ul>
    </section>`;
  }

  #entry({ id, title, listenFor, stages }: ReadyPath): unknown {
    const words = stages.map(({ stage }) => stageById(stage).shortTitle).join(', ');
    return html`<li>
      <h3>${title}</h3>
      <div class="signs" role="img" aria-label=${words}>${stages.map(({ stage }) => html`<stage-sign .stage=${stageById(stage)} .inCircuit=${true}></stage-sign>`)}</div>
      <p>${listenFor}</p>
      <button class="boxed" aria-label=${`Take this path: ${title}`} @click=${() => this.send({ kind: 'ready-path', id })}>Take this path</button>
    </li>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}

customElements.define('ready-path-list', ReadyPathList);
