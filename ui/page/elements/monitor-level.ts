/** The level at the ear: figure, limiter word, peak, and steps of 1 dB. It is never kept from one visit to the next. */
import { css, html } from 'lit';
import { loudestMonitorDb, quietestMonitorDb } from '../reduce-live.ts';
import type { Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement, figureMs, Pace } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';

/** Gain reduction below this is not worth a word. */
const idleDb = 0.05;

export class MonitorLevel extends BenchElement implements DrawsReadings {
  readonly #pace = new Pace();

  static override styles = [base, css`
    .heading { font-weight: 600; line-height: 1.5rem; white-space: nowrap; }
    .words { font-size: 0.8125rem; line-height: 1.125rem; white-space: nowrap; }
    .steps { display: inline-flex; gap: 8px; margin-top: 4px; }
    .steps button { border: 1px solid var(--edge); background: var(--sheet); text-align: center; min-width: 2rem; font-weight: 600; }
    .acting { color: var(--madder); font-weight: 600; }
    :host([low]) .group { display: flex; align-items: center; justify-content: flex-end; gap: 0 8px; }
    :host([low]) .steps { margin: 0; gap: 4px; order: 1; }
    :host([low]) .steps button { min-width: 24px; }
    :host([low]) .heading .long, :host([low]) #peak { display: none; }
    @media (pointer: coarse) {
      .steps button, :host([low]) .steps button { min-width: 44px; }
      :host([low]) .group { display: grid; grid-template-columns: auto auto; }
      :host([low]) .heading { align-self: end; line-height: 1.125rem; } :host([low]) .group > .words { grid-row: 2; align-self: start; } :host([low]) .steps { grid-area: 1 / 2 / 3 / 3; }
      :host([low][plain]) .heading { grid-row: 1 / 3; align-self: center; }
    }
    /* While something is compared blind, only the level. */
    :host([plain]) .words { display: none; }
    /* One chooser holds the level, the limiter's word stands in its lower half. */
    .chooser { position: relative; text-align: end; }
    .chooser select { min-height: 2.375rem; min-width: 44px; padding-bottom: 16px; text-align: end; background-position: 0 19px; }
    .chooser .words { position: absolute; inset: auto 0 0 auto; pointer-events: none; }
    .chooser #peak { display: none; }
    @media (pointer: coarse) { .chooser select { min-height: 2.75rem; } }
  `];

  override render() {
    const { monitorDb } = this.state.live;
    const words = html`<div class="words"><span id="limiter" class="pencil">limiter idle</span><span id="peak" class="computed"></span></div>`;
    if (this.shape === 'narrow' && !this.low) {
      const levels = Array.from({ length: loudestMonitorDb - quietestMonitorDb + 1 }, (_, index) => loudestMonitorDb - index);
      const chosen = Math.round(monitorDb);
      return html`<div class="chooser"><select aria-label="Monitor level" @change=${this.#chosen}>
        ${levels.map((db) => html`<option value=${db} .selected=${db === chosen}>${printedDb(db)}</option>`)}</select>${words}</div>`;
    }
    return html`<div class="group" role="group" aria-label="Monitor level">
      <div class="heading"><span class="long">monitor </span>${printedDb(monitorDb)}</div>
      ${words}
      <div class="steps">
        <button aria-label="Monitor down 1 decibel" aria-disabled=${monitorDb <= quietestMonitorDb} @click=${() => this.#step(-1)}>−</button>
        <button aria-label="Monitor up 1 decibel" aria-disabled=${monitorDb >= loudestMonitorDb} @click=${() => this.#step(1)}>+</button>
      </div>
    </div>`;
  }

  drawReadings(readings: Readings, nowMs: number): void {
    if (!this.hasUpdated || !this.#pace.due(nowMs, figureMs)) return;
    const limiter = this.renderRoot.querySelector('#limiter')!;
    const acting = readings.limiterDb > idleDb;
    const words = acting ? `limiter −${readings.limiterDb.toFixed(1)} dB` : 'limiter idle';
    if (limiter.textContent !== words) limiter.textContent = words;
    limiter.className = acting ? 'acting' : 'pencil';
    const peakDb = Math.max(...readings.monitorPeakDb);
    const peak = this.state.live.playing && peakDb > -120 ? `, peak ${peakDb.toFixed(0).replace('-', '−')} dBFS` : '';
    const place = this.renderRoot.querySelector('#peak')!;
    if (place.textContent !== peak) place.textContent = peak;
  }

  #chosen(event: Event): void {
    this.send({ kind: 'monitor', monitorDb: Number((event.target as HTMLSelectElement).value) });
  }

  #step(db: number): void {
    this.send({ kind: 'monitor', monitorDb: Math.round(this.state.live.monitorDb) + db });
  }
}
customElements.define('monitor-level', MonitorLevel);

/** "−20 dB" */
export function printedDb(db: number): string {
  return `${db < 0 ? '−' : ''}${Math.abs(Math.round(db * 10) / 10)} dB`;
}
