/** The last line: figures of the bench, and the one place where it speaks (`role="status"`, `role="alert"`). */
import { css, html, nothing } from 'lit';
import type { PropertyValues } from 'lit';
import { Announcer } from '../announcer.ts';
import type { Announcement } from '../announcer.ts';
import type { BenchState, Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import './bench-figures.ts';
import type { BenchFigures } from './bench-figures.ts';

/** Where the line has no place of its own, a sentence that is not urgent stays this long. */
const shownMs = 8000;

export class StateLine extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, dragging: { type: Boolean }, said: { state: true } };
  declare dragging: boolean;
  declare said: Announcement | null;
  readonly #announcer = new Announcer();
  #lastSerial = 0;
  #saidMs = 0;

  static override styles = [base, css`
    footer { display: flex; flex-wrap: wrap; align-items: center; gap: 0 24px; min-height: 32px; border-top: 1px solid var(--edge); background: var(--paper); font-size: 0.8125rem; line-height: 1.125rem; }
    .said { flex: 1 1 12rem; }
    .urgent { color: var(--madder); font-weight: 600; border-inline-start: 3px double var(--madder); padding-inline-start: 6px; }
    .promise { color: var(--pencil); margin-inline-start: auto; }
    .said:empty { flex: 0 0 0; margin-inline-end: -24px; }
    footer.slim { min-height: 0; border-top: 0; }
    @media (forced-colors: active) { footer { background: Canvas; } }
  `];

  override render() {
    const slim = this.shape === 'narrow' || this.shape === 'docked' || this.low;
    const { said } = this;
    return html`<footer class=${slim ? 'slim' : ''} aria-label="State of the bench">
      ${slim ? nothing : html`<bench-figures .state=${this.state} .shape=${this.shape} .low=${this.low}></bench-figures>`}
      <div class="said" role="status">${said && !said.urgent ? said.text : nothing}</div>
      <div class="said ${said?.urgent ? 'urgent' : ''}" role="alert">${said?.urgent ? said.text : nothing}</div>
      ${slim ? nothing : html`<span class="promise">Nothing is uploaded.</span>`}
    </footer>`;
  }

  protected override willUpdate(changed: PropertyValues): void {
    const before = changed.get('state') as BenchState | undefined;
    const { message } = this.state.live;
    if (message && message.serial !== this.#lastSerial && message !== before?.live.message) {
      this.#lastSerial = message.serial;
      this.#announcer.offer(message);
    }
  }

  drawReadings(readings: Readings, nowMs: number): void {
    const next = this.#announcer.take(nowMs, this.dragging);
    if (next) {
      // The same words twice are a new message: the region is emptied first, or nothing would be spoken.
      const same = this.said?.text === next.text;
      this.said = same ? null : next;
      if (same) void this.updateComplete.then(() => (this.said = next));
      this.#saidMs = nowMs;
    } else if (this.said && !this.said.urgent && nowMs - this.#saidMs > shownMs) {
      this.said = null;
    }
    this.renderRoot.querySelector<BenchFigures>('bench-figures')?.drawReadings(readings, nowMs);
  }
}
customElements.define('state-line', StateLine);
