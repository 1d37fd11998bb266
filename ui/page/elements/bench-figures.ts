/** What the bench runs at: rate, calibration, load, late blocks; rate and calibration are set here. */
import { css, html } from 'lit';
import { oversamplingFactors } from '../../../dsp/path/index.ts';
import type { OversamplingFactor } from '../../../dsp/path/index.ts';
import type { Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement, figureMs, Pace } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';

const calibrations = [18, 22, 24] as const;

export class BenchFigures extends BenchElement implements DrawsReadings {
  readonly #pace = new Pace();

  static override styles = [base, css`
    .figures { display: flex; flex-wrap: wrap; align-items: center; gap: 0 24px; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    .figures span { white-space: nowrap; }
    select { color: var(--ink); font-weight: 400; }
  `];

  override render() {
    const { path, baseRateHz } = this.state.setting;
    return html`<div class="figures">
      <select aria-label="Internal rate" @change=${this.#factorChosen}>
        ${oversamplingFactors.map((factor) => html`<option value=${factor} .selected=${factor === path.oversamplingFactor}>${baseRateHz / 1000} kHz × ${factor}</option>`)}
      </select>
      <select aria-label="Filters of the rate ladder" @change=${this.#ladderChosen}>
        ${(['linear-phase', 'minimum-latency'] as const).map((ladder) => html`<option value=${ladder} .selected=${ladder === path.ladder}>${ladder.replace('-', ' ')}</option>`)}
      </select>
      <select aria-label="Calibration" @change=${this.#calibrationChosen}>
        ${calibrations.map((dbu) => html`<option value=${dbu} .selected=${dbu === path.fullScaleDbu}>0 dBFS = +${dbu} dBu</option>`)}
      </select>
      <span id="load">audio load –</span><span id="late">late blocks 0</span>
    </div>`;
  }

  drawReadings(readings: Readings, nowMs: number): void {
    if (!this.hasUpdated || !this.#pace.due(nowMs, figureMs)) return;
    const sounding = this.state.live.playing || this.state.live.tonePlaying;
    this.#write('#load', sounding ? `audio load ${Math.round(100 * readings.audioLoad)} %` : 'audio load –');
    this.#write('#late', `late blocks ${readings.lateBlocks}`);
  }

  #write(place: string, words: string): void {
    const element = this.renderRoot.querySelector(place)!;
    if (element.textContent !== words) element.textContent = words;
  }

  #factorChosen(event: Event): void {
    this.send({ kind: 'rate-factor', factor: Number((event.target as HTMLSelectElement).value) as OversamplingFactor });
  }

  #ladderChosen(event: Event): void {
    this.send({ kind: 'ladder', ladder: (event.target as HTMLSelectElement).value as 'linear-phase' | 'minimum-latency' });
  }

  #calibrationChosen(event: Event): void {
    this.send({ kind: 'calibration', fullScaleDbu: Number((event.target as HTMLSelectElement).value) as 18 | 22 | 24 });
  }
}
customElements.define('bench-figures', BenchFigures);
