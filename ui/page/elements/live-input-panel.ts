/** The card of a live input: asking for it, what the browser gave, keeping a stretch, and its delays. */
import { css, html, nothing } from 'lit';
import type { InputChannels } from '../../../worklets/messages.ts';
import { channelWords, grantedWords, loopbackWords, notGranted, rateWords, statedLatencyRows } from '../live-input-words.ts';
import type { InputSettings } from '../live-input-state.ts';
import { keptAtOnceSeconds, loudestLoopbackDbfs } from '../reduce-live-input.ts';
import { base } from '../styles/base.ts';
import { panelStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';
import { printedDb } from './monitor-level.ts';

export class LiveInputPanel extends BenchElement {
  static override styles = [base, panelStyles, css`
    label { display: flex; flex-wrap: wrap; gap: 0 8px; align-items: baseline; }
    select { max-width: 100%; }
    dl { display: grid; grid-template-columns: auto 1fr; gap: 2px 16px; } dd { margin: 0; font-style: italic; color: var(--pencil); } .sum { font-weight: 600; }
  `];

  override render() {
    const { input } = this.state.live;
    return html`
      <h3 id="live-input">Live input</h3>
      <p>Hear an instrument or a return through the path. It is for listening only: harmonics, sweeps and all other figures are computed and never come from it.</p>
      ${input.trouble === null ? nothing : html`<p class="error">${input.trouble}</p>`}
      ${input.phase === 'open' && input.settings ? this.#open(input.settings) : this.#closed()}`;
  }

  #closed() {
    const { phase } = this.state.live.input;
    const words = phase === 'asked' ? 'The question stands in the listening strip, below.' : phase === 'opening' ? 'Opening …' : null;
    return words === null ? html`<div class="buttons"><button class="boxed" @click=${() => this.send({ kind: 'input-ask' })}>Hear an input …</button></div>` : html`<p>${words}</p>`;
  }

  #open(settings: InputSettings) {
    const { input, baseRateHz } = this.state.live;
    return html`
      <label>Input <select id="device" @change=${(event: Event) => this.send({ kind: 'input-device', deviceId: valueOf(event) })}>
        ${input.devices.map(({ deviceId, label }) => html`<option value=${deviceId} .selected=${deviceId === settings.deviceId}>${label}</option>`)}
      </select></label>
      <label>Channels <select id="channels" @change=${(event: Event) => this.send({ kind: 'input-channels', channels: valueOf(event) as InputChannels })}>
        ${Object.entries(channelWords).map(([channels, words]) => html`<option value=${channels} .selected=${channels === input.channels}>${words}</option>`)}
      </select></label>
      <p id="granted">${grantedWords(settings)} ${rateWords(settings, baseRateHz)}</p>
      ${notGranted(settings, input.channels).map((sentence) => html`<p class="caution">${sentence}</p>`)}
      <div class="buttons">
        ${input.sounding
          ? html`<button class="boxed" id="keep" @click=${() => this.send({ kind: 'input-keep', seconds: keptAtOnceSeconds })}>Keep the last ${keptAtOnceSeconds} s as a loop</button>
            <button class="boxed" @click=${() => this.send({ kind: 'input-hear', heard: false })}>Back to the loop</button>`
          : html`<button class="boxed" id="hear" @click=${() => this.send({ kind: 'input-hear', heard: true })}>Hear it, monitor from −40 dB</button>`}
        <button class="boxed" id="close" @click=${() => this.send({ kind: 'input-close' })}>Close the input</button>
      </div>
      ${this.#latency()}`;
  }

  #latency() {
    const { latency } = this.state.live.input;
    return html`<h4>How late it is heard</h4>
      ${latency === null ? html`<p>Stated once sound has begun.</p>` : html`<dl>${statedLatencyRows(latency).map(([name, words], index, rows) => html`<dt class=${index === rows.length - 1 ? 'sum' : ''}>${name}</dt><dd>${words}</dd>`)}</dl>`}
      ${this.#loopback()}`;
  }

  #loopback() {
    const { loopback, loopbackDbfs, latency } = this.state.live.input;
    const level = `${printedDb(loopbackDbfs)} re full scale`;
    switch (loopback.kind) {
      case 'none':
        return html`<div class="buttons"><button class="boxed" id="loopback" @click=${() => this.send({ kind: 'loopback-ask' })}>Measure it …</button></div>`;
      case 'asked':
        return html`<div role="group" aria-label="Before noise plays">
          <p class="caution">Turn loudspeakers down, take headphones off your ears. Join an output to the input by a cable, or hold the microphone to the loudspeaker. Four short bursts of noise play at ${level}, past the monitor level; 2.5 seconds. Where equipment is powered, join what its makers meant to be joined, and open nothing.</p>
          <div class="buttons"><button class="boxed" id="measure" @click=${() => this.send({ kind: 'loopback-measure' })}>Play the bursts</button>
            <button class="boxed" @click=${() => this.send({ kind: 'loopback-refuse' })}>Not now</button></div></div>`;
      case 'measuring':
        return html`<p role="status">Bursts play, and what comes in is recorded …</p>`;
      case 'told': {
        const { finding } = loopback;
        const louder = finding.kind === 'refused' && (finding.why === 'not-found' || finding.why === 'silent') && loopbackDbfs < loudestLoopbackDbfs;
        return html`<div id="finding" role="status">${loopbackWords(finding, loopback.rateHz, latency?.pathSeconds ?? null).map((sentence) => html`<p class=${finding.kind === 'found' ? '' : 'error'}>${sentence}</p>`)}</div>
          <div class="buttons"><button class="boxed" @click=${() => this.send({ kind: 'loopback-ask' })}>Measure again …</button>
            ${louder ? html`<button class="boxed" @click=${() => this.send({ kind: 'loopback-louder' })}>Try 10 dB louder …</button>` : nothing}</div>`;
      }
    }
  }
}
customElements.define('live-input-panel', LiveInputPanel);

function valueOf(event: Event): string {
  return (event.target as HTMLSelectElement).value;
}
