/**
 * The loop: chooser, overview, region, position. The overview is the listening surface: one focus stop without buttons inside,
 * where arrows move the position and the level, S and E close the region, W opens it, N takes the next loop.
 */
import { css, html, nothing, svg } from 'lit';
import type { LoopEntry, Readings, SessionState } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement, figureMs, lessMotion, meterMs, Pace } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';

/** A press that moves less than this is a tap: it seeks. */
const dragPx = 4;
/** A region is at least this long, so that its ends can be told. */
const shortestRegionSeconds = 0.05;
const calmMs = 250;
const toneOption = '(tone)';

export class LoopLine extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, loops: { attribute: false } };
  declare loops: readonly LoopEntry[];
  #positionSeconds = 0;
  #overview: Float32Array | null = null;
  readonly #linePace = new Pace();
  readonly #figurePace = new Pace();
  #dragFromSeconds: number | null = null;
  #dragFromPx = 0;

  static override styles = [base, css`
    .surface { position: relative; height: 2.25rem; touch-action: pan-y; cursor: text; border-block: 1px solid transparent; }
    .surface svg { display: block; width: 100%; height: 100%; overflow: visible; }
    .wave { fill: var(--pencil); }
    .region { fill: var(--wash); stroke: var(--pen); stroke-width: 1; vector-effect: non-scaling-stroke; }
    .playhead { position: absolute; top: -3px; bottom: -3px; left: 0; width: 2px; background: var(--ink); pointer-events: none; }
    .caption { display: flex; flex-wrap: wrap; align-items: center; justify-content: space-between; gap: 0 16px; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    .ends { display: flex; gap: 12px; }
    .ends button { color: var(--ink); font-size: 0.8125rem; }
    :host([shape='narrow']) .caption, :host([low]) .caption { display: none; }
    :host([shape='narrow']) .surface, :host([low]) .surface { height: 24px; }
    :host([shape='narrow']) { display: contents; }
    :host([shape='narrow']) .chooser { grid-area: chooser; } :host([shape='narrow']) .surface { grid-area: surface; align-self: center; }
    :host([low]) .surface { height: 18px; }
    :host([low]) select { min-height: 24px; max-width: 100%; }
    @media (pointer: coarse) {
      .surface, :host([shape='narrow']) .surface, :host([low]) .surface { height: 2.75rem; }
      :host([low]) { display: flex; gap: 8px; } :host([low]) .surface { flex: 1; min-width: 44px; } :host([low]) .chooser { max-width: 60%; } :host([low]) select { min-height: 44px; }
    }
    @media (forced-colors: active) { .wave { fill: CanvasText; } .region { fill: Canvas; stroke: Highlight; } .playhead { background: Highlight; } }
  `];

  override render() {
    const { session } = this.state;
    const { letters, singleLetters } = session.keys;
    return html`
      <div class="chooser"><select aria-label="Loop" @change=${this.#loopChosen}>
        ${this.loops.map(({ identifier, title, channels }) => html`<option value=${identifier} .selected=${identifier === session.loop}>${title}${channels === 1 ? '' : ', stereo'}</option>`)}
        <option value=${toneOption}>probe tone …</option>
      </select></div>
      <div class="surface" id="surface" tabindex="0" role="application" aria-label="Listening surface, ${this.#title()}" aria-roledescription="listening surface" aria-describedby="keys-here"
        @keydown=${this.#keyed} @pointerdown=${this.#pressed} @pointermove=${this.#dragged} @pointerup=${this.#released} @pointercancel=${this.#forgotten}>
        <svg viewBox="0 -1 1000 2" preserveAspectRatio="none" aria-hidden="true">${this.#regionShape()}<path class="wave" d=${this.#wavePath()}></path></svg>
        <div class="playhead" id="playhead"></div>
      </div>
      <span class="unseen" id="keys-here">Left and right move one second, up and down change the monitor by one decibel, S starts the region here, E ends it here, W takes the whole loop, N the next loop, Space plays and pauses${singleLetters ? `, ${letters.in.toUpperCase()} is in circuit, ${letters.out.toUpperCase()} is out of circuit` : ''}.</span>
      <div class="caption">
        <span><span id="position" aria-hidden="true">0.0 s</span> · ${regionWords(session.region, this.#loopSeconds)}</span>
        <span class="ends">
          <button @click=${() => this.#startHere()}>Start here</button>
          <button @click=${() => this.#endHere()}>End here</button>
          ${session.region ? html`<button @click=${() => this.send({ kind: 'region', region: null })}>Whole loop</button>` : nothing}
        </span>
      </div>`;
  }

  focusSurface(): void {
    this.renderRoot.querySelector<HTMLElement>('#surface')?.focus();
  }

  drawReadings(readings: Readings, nowMs: number): void {
    if (!this.hasUpdated) return;
    if (readings.overview !== this.#overview) {
      this.#overview = readings.overview;
      this.requestUpdate();
    }
    this.#positionSeconds = readings.positionSeconds;
    const seconds = this.#loopSeconds;
    if (this.#linePace.due(nowMs, lessMotion() ? calmMs : meterMs)) {
      const share = seconds > 0 ? Math.min(1, readings.positionSeconds / seconds) : 0;
      this.renderRoot.querySelector<HTMLElement>('#playhead')!.style.left = `calc(${(100 * share).toFixed(3)}% - 1px)`;
    }
    if (this.#figurePace.due(nowMs, figureMs)) {
      const place = this.renderRoot.querySelector('#position')!;
      const words = `${readings.positionSeconds.toFixed(1)} s`;
      if (place.textContent !== words) place.textContent = words;
    }
  }

  get #loop(): LoopEntry | undefined {
    return this.loops.find(({ identifier }) => identifier === this.state.session.loop);
  }

  get #loopSeconds(): number {
    return this.#loop?.durationSeconds ?? 0;
  }

  #title(): string {
    return this.#loop?.title ?? 'no loop';
  }

  #wavePath(): string {
    const overview = this.#overview;
    const columns = overview ? overview.length >> 1 : 0;
    if (!overview || columns === 0) return '';
    let loudest = 1e-6;
    for (const sample of overview) loudest = Math.max(loudest, Math.abs(sample));
    const point = (column: number, sample: number) => `${((1000 * (column + 0.5)) / columns).toFixed(1)},${(-sample / loudest).toFixed(3)}`;
    const upper = Array.from({ length: columns }, (_, column) => point(column, overview[2 * column + 1]!));
    const lower = Array.from({ length: columns }, (_, column) => point(column, overview[2 * column]!)).reverse();
    return `M${upper.join('L')}L${lower.join('L')}Z`;
  }

  #regionShape() {
    const { region } = this.state.session;
    const seconds = this.#loopSeconds;
    if (!region || !(seconds > 0)) return nothing;
    const x = (1000 * region.startSeconds) / seconds;
    return svg`<rect class="region" x=${x} y="-1" width=${(1000 * (region.endSeconds - region.startSeconds)) / seconds} height="2"></rect>`;
  }

  #loopChosen(event: Event): void {
    const chooser = event.target as HTMLSelectElement;
    if (chooser.value === toneOption) {
      chooser.value = this.state.session.loop;
      this.send({ kind: 'ask-tone', ...this.state.session.probe });
    } else {
      this.send({ kind: 'loop', loop: chooser.value });
    }
  }

  #startHere(): void {
    const start = this.#positionSeconds;
    const end = this.state.session.region?.endSeconds ?? this.#loopSeconds;
    this.#region(start, end > start + shortestRegionSeconds ? end : this.#loopSeconds);
  }

  #endHere(): void {
    const end = this.#positionSeconds;
    const start = this.state.session.region?.startSeconds ?? 0;
    this.#region(start < end - shortestRegionSeconds ? start : 0, end);
  }

  #region(startSeconds: number, endSeconds: number): void {
    if (endSeconds - startSeconds < shortestRegionSeconds) return;
    const whole = startSeconds <= 0 && endSeconds >= this.#loopSeconds;
    this.send({ kind: 'region', region: whole ? null : { startSeconds, endSeconds } });
  }

  #keyed(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const perform = this.#command(event.key.toLowerCase(), event.repeat);
    if (!perform) return;
    event.preventDefault();
    perform();
  }

  #command(key: string, repeat: boolean): (() => void) | null {
    const { live } = this.state;
    switch (key) {
      case 'arrowleft': return () => this.#seek(this.#positionSeconds - 1);
      case 'arrowright': return () => this.#seek(this.#positionSeconds + 1);
      case 'arrowup': return () => this.send({ kind: 'monitor', monitorDb: live.monitorDb + 1 });
      case 'arrowdown': return () => this.send({ kind: 'monitor', monitorDb: live.monitorDb - 1 });
      case 's': return repeat ? null : () => this.#startHere();
      case 'e': return repeat ? null : () => this.#endHere();
      case 'w': return repeat ? null : () => this.send({ kind: 'region', region: null });
      case 'n': return repeat ? null : () => this.#nextLoop();
      default: return null;
    }
  }

  #nextLoop(): void {
    const index = this.loops.findIndex(({ identifier }) => identifier === this.state.session.loop);
    const next = this.loops[(index + 1) % Math.max(1, this.loops.length)];
    if (next) this.send({ kind: 'loop', loop: next.identifier });
  }

  /** Round the ends, inside the region where there is one. */
  #seek(seconds: number): void {
    const start = this.state.session.region?.startSeconds ?? 0;
    const end = this.state.session.region?.endSeconds ?? this.#loopSeconds;
    const length = end - start;
    if (!(length > 0)) return;
    const wrapped = start + ((((seconds - start) % length) + length) % length);
    this.#positionSeconds = wrapped;
    this.send({ kind: 'seek', seconds: wrapped });
  }

  #secondsAt(event: PointerEvent): number {
    const { left, width } = (event.currentTarget as HTMLElement).getBoundingClientRect();
    return Math.min(1, Math.max(0, (event.clientX - left) / width)) * this.#loopSeconds;
  }

  #pressed(event: PointerEvent): void {
    if (event.button !== 0) return;
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    this.#dragFromSeconds = this.#secondsAt(event);
    this.#dragFromPx = event.clientX;
  }

  #dragged(event: PointerEvent): void {
    if (this.#dragFromSeconds === null || Math.abs(event.clientX - this.#dragFromPx) < dragPx) return;
    const here = this.#secondsAt(event);
    this.#region(Math.min(here, this.#dragFromSeconds), Math.max(here, this.#dragFromSeconds));
  }

  #released(event: PointerEvent): void {
    if (this.#dragFromSeconds !== null && Math.abs(event.clientX - this.#dragFromPx) < dragPx) this.#seek(this.#dragFromSeconds);
    this.#dragFromSeconds = null;
  }

  #forgotten(): void {
    this.#dragFromSeconds = null;
  }
}
customElements.define('loop-line', LoopLine);

/** "0.0 to 9.6 s, whole loop" */
export function regionWords(region: SessionState['region'], loopSeconds: number): string {
  return region ? `${region.startSeconds.toFixed(1)} to ${region.endSeconds.toFixed(1)} s` : `0.0 to ${loopSeconds.toFixed(1)} s, whole loop`;
}
