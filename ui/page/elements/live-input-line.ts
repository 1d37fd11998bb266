/** In the loop's place while a live input is heard: what it is, how loud it comes in, and the ways back. Its meter is the listening surface. */
import { css, html } from 'lit';
import { ratioToDecibels } from '../../../dsp/math/index.ts';
import { inputLevelWords } from '../live-input-words.ts';
import { keptAtOnceSeconds, noPlaceSentence } from '../reduce-live-input.ts';
import type { Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement, figureMs, Pace } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';

/** The meter's lower end; the upper is full scale. */
const floorDb = -60;

export class LiveInputLine extends BenchElement implements DrawsReadings {
  readonly #pace = new Pace();

  static override styles = [base, css`
    .title { font-weight: 600; overflow-wrap: anywhere; }
    .surface { position: relative; height: 1.5rem; margin-block: 4px; border: 1px solid var(--edge); background: var(--sheet); }
    .fill { position: absolute; inset: 0 auto 0 0; width: 0; background: var(--pencil); }
    .loud .fill { background: repeating-linear-gradient(45deg, var(--madder) 0 4px, var(--sheet) 4px 6px); }
    .line { display: flex; flex-wrap: wrap; align-items: center; justify-content: space-between; gap: 0 16px; font-size: 0.8125rem; line-height: 1.125rem; }
    .ways { display: flex; flex-wrap: wrap; gap: 0 16px; } .ways button { font-size: 0.8125rem; }
    :host([low]) { display: flex; align-items: center; gap: 8px; } :host([low]) .surface { flex: 1; min-width: 44px; } :host([low]) .title { max-width: 10rem; white-space: nowrap; overflow: hidden; text-overflow: ellipsis; }
    @media (pointer: coarse) { .surface { height: 2.75rem; } }
    @media (forced-colors: active) { .fill { background: CanvasText; } .loud .fill { background: Highlight; } }
  `];

  override render() {
    const { input } = this.state.live;
    const { letters, singleLetters } = this.state.session.keys;
    return html`
      <div class="title">Live input: ${input.settings?.label ?? 'opening'}, ${input.channels}</div>
      <div class="surface" id="surface" tabindex="0" role="application" aria-label="Listening surface, live input" aria-roledescription="listening surface" aria-describedby="keys-here" @keydown=${this.#keyed}>
        <div class="fill" id="fill"></div>
      </div>
      <span class="unseen" id="keys-here">Up and down change the monitor by one decibel, N goes back to the loop, Space plays and pauses${singleLetters ? `, ${letters.in.toUpperCase()} is in circuit, ${letters.out.toUpperCase()} is out of circuit` : ''}. Live input has no position and no region.</span>
      <div class="line">
        <span id="level" class="computed" aria-hidden="true"></span>
        <span class="ways">
          <button title="The last ${keptAtOnceSeconds} seconds, or what there is of them, become a loop" @click=${() => this.send({ kind: 'input-keep', seconds: keptAtOnceSeconds })}>Keep the last ${keptAtOnceSeconds} s as a loop</button>
          <button @click=${() => this.send({ kind: 'input-hear', heard: false })}>Back to the loop</button>
        </span>
      </div>`;
  }

  focusSurface(): void {
    this.renderRoot.querySelector<HTMLElement>('#surface')?.focus();
  }

  drawReadings({ input }: Readings, nowMs: number): void {
    if (!this.hasUpdated || !this.#pace.due(nowMs, figureMs)) return;
    const playing = this.state.live.playing;
    const db = ratioToDecibels(playing ? input.peak : 0);
    this.renderRoot.querySelector<HTMLElement>('#fill')!.style.width = `${(100 * Math.min(1, Math.max(0, 1 - db / floorDb))).toFixed(1)}%`;
    this.renderRoot.querySelector('#surface')!.classList.toggle('loud', db > -1);
    const words = playing ? `comes in: ${inputLevelWords(input.peak)}${db > -1 ? ', overloads' : ''}` : 'not heard: press Play';
    const place = this.renderRoot.querySelector('#level')!;
    if (place.textContent !== words) place.textContent = words;
  }

  #keyed(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const { monitorDb } = this.state.live;
    switch (event.key.toLowerCase()) {
      case 'arrowup': this.send({ kind: 'monitor', monitorDb: monitorDb + 1 }); break;
      case 'arrowdown': this.send({ kind: 'monitor', monitorDb: monitorDb - 1 }); break;
      case 'n': if (!event.repeat) this.send({ kind: 'input-hear', heard: false }); break;
      case 'arrowleft': case 'arrowright': case 's': case 'e': case 'w':
        if (!event.repeat) this.send({ kind: 'message', text: noPlaceSentence, urgent: false });
        break;
      default: return;
    }
    event.preventDefault();
  }
}
customElements.define('live-input-line', LiveInputLine);
