/** The listener's own files: opened, opened again, forgotten; and where they stay. */
import { css, html, nothing } from 'lit';
import { writeQuantity } from '../../../dsp/path/index.ts';
import type { KnownMaterial } from '../material-state.ts';
import { timeWords } from '../region-words.ts';
import { base } from '../styles/base.ts';
import { panelStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';
import { pickOwnFile } from './own-file.ts';

export class MaterialPanel extends BenchElement {
  static override styles = [base, panelStyles, css`
    ul { list-style: none; width: 100%; }
    li { display: flex; flex-wrap: wrap; align-items: baseline; justify-content: space-between; gap: 0 12px; border-top: 1px solid var(--grid); padding: 4px 0; min-height: 24px; }
    .name { overflow-wrap: anywhere; }
    .does { display: flex; gap: 12px; }
  `];

  override render() {
    const { known } = this.state.live.material;
    return html`<h3 id="heading">Your files</h3>
      <p>WAV, AIFF and FLAC at their own rate; what else your browser decodes, decoded by it. Pick one, or drop it anywhere on the page. Files stay where they are: nothing is uploaded. Their names, regions and trims are kept in this browser, their contents are not.</p>
      ${known.length > 0 ? html`<ul aria-labelledby="heading">${known.map((file) => this.#file(file))}</ul>` : nothing}
      <div class="buttons"><button class="boxed" id="pick" @click=${() => this.#pick()}>Open a file of your own …</button></div>`;
  }

  #file(file: KnownMaterial) {
    const { id, name, rateHz, channels, seconds, reach } = file;
    const onBench = this.state.session.loop === id;
    return html`<li><span class="name">${name}, ${timeWords(seconds, 0)}, ${writeQuantity(rateHz, 'frequency', 'Hz')}, ${channels === 1 ? 'mono' : 'stereo'}</span>
      <span class="does">${onBench ? html`<span>on the bench</span>` : html`<button aria-label=${`${reach === 'pick' ? 'Pick again' : 'Open'}: ${name}`} @click=${() => this.#again(file)}>${reach === 'pick' ? 'Pick again …' : 'Open'}</button>
        <button aria-label=${`Forget: ${name}`} @click=${() => this.send({ kind: 'forget-material', id })}>Forget</button>`}</span></li>`;
  }

  #again({ id, reach }: KnownMaterial): void {
    if (reach === 'open') this.send({ kind: 'loop', loop: id });
    else if (reach === 'handle') this.send({ kind: 'reopen-material', id });
    else this.#pick();
  }

  #pick(): void {
    void pickOwnFile().then((action) => action && this.send(action));
  }
}
customElements.define('material-panel', MaterialPanel);
