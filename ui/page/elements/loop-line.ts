/**
 * The loop: chooser, overview, region, position. The overview is the listening surface: one focus stop without buttons inside,
 * where arrows move the position and the level, S and E close the region, Home and End take one of its ends in hand to be moved by
 * 10 ms or one sample, W opens it, plus and minus look closer, N takes the next loop.
 */
import { css, html, nothing, svg } from 'lit';
import { chosenLoop, type ChosenLoop } from '../loops.ts';
import { lookedAt, nudged, nudgeSeconds, shortestRegionSeconds, type RegionEnd } from '../region-edit.ts';
import { regionWords, timeWords } from '../region-words.ts';
import type { KnownMaterial } from '../material-state.ts';
import type { LoopEntry, Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement, figureMs, lessMotion, meterMs, Pace } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import './material-line.ts';
import { pickOwnFile } from './own-file.ts';

/** A press that moves less than this is a tap: it seeks. */
const dragPx = 4;
const calmMs = 250;
const toneOption = '(tone)';
const ownOption = '(own file)';
const inputOption = '(live input)';

export class LoopLine extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, loops: { attribute: false }, inHand: { state: true } };
  declare loops: readonly LoopEntry[];
  /** The end of the region that keys move. */
  declare inHand: RegionEnd;
  #positionSeconds = 0;
  #overview: Float32Array | null = null;
  readonly #linePace = new Pace();
  readonly #figurePace = new Pace();
  #dragFromSeconds: number | null = null;
  #dragFromPx = 0;

  static override styles = [base, css`
    .surface { position: relative; height: 1.75rem; touch-action: pan-y; cursor: text; border-block: 1px solid transparent; }
    .surface svg { display: block; width: 100%; height: 100%; overflow: visible; }
    .wave { fill: var(--pencil); }
    .region { fill: var(--wash); stroke: var(--pen); stroke-width: 1; vector-effect: non-scaling-stroke; }
    .hand { stroke: var(--pen); stroke-width: 3; vector-effect: non-scaling-stroke; }
    .playhead { position: absolute; top: -3px; bottom: -3px; left: 0; width: 2px; background: var(--ink); pointer-events: none; }
    .caption { display: flex; flex-wrap: wrap; align-items: center; justify-content: space-between; gap: 0 16px; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    .ends { display: flex; gap: 12px; }
    .ends button { color: var(--ink); font-size: 0.8125rem; }
    :host([shape='narrow']) .caption, :host([low]) .caption { display: none; }
    :host([shape='narrow']) .surface, :host([low]) .surface { height: 24px; }
    :host([shape='narrow']) { display: contents; }
    :host([shape='narrow']) material-line { grid-column: 1 / -1; }
    :host([shape='narrow']) .chooser { grid-area: chooser; } :host([shape='narrow']) .surface { grid-area: surface; align-self: center; }
    :host([low]) .surface { height: 18px; }
    :host([low]) select { min-height: 24px; max-width: 100%; }
    @media (pointer: coarse) {
      .surface, :host([shape='narrow']) .surface, :host([low]) .surface { height: 2.75rem; }
      :host([low]) { display: flex; gap: 8px; } :host([low]) .surface { flex: 1; min-width: 44px; } :host([low]) .chooser { max-width: 60%; } :host([low]) select { min-height: 44px; }
    }
    @media (forced-colors: active) { .wave { fill: CanvasText; } .region { fill: Canvas; stroke: Highlight; } .hand { stroke: Highlight; } .playhead { background: Highlight; } }
  `];

  override render() {
    const { session } = this.state;
    const { letters, singleLetters } = session.keys;
    return html`
      <div class="chooser"><select aria-label="Loop" @change=${this.#loopChosen}>
        ${this.loops.map(({ identifier, title, channels }) => html`<option value=${identifier} .selected=${identifier === session.loop}>${title}${channels === 1 ? '' : ', stereo'}</option>`)}
        ${this.#ownOptions()}
        <option value=${ownOption}>own file …</option>
        <option value=${inputOption}>live input …</option>
        <option value=${toneOption}>probe tone …</option>
      </select></div>
      <div class="surface" id="surface" tabindex="0" role="application" aria-label="Listening surface, ${this.#title()}" aria-roledescription="listening surface" aria-describedby="keys-here"
        @keydown=${this.#keyed} @pointerdown=${this.#pressed} @pointermove=${this.#dragged} @pointerup=${this.#released} @pointercancel=${this.#forgotten}>
        <svg viewBox="0 -1 1000 2" preserveAspectRatio="none" aria-hidden="true">${this.#regionShape()}<path class="wave" d=${this.#wavePath()}></path></svg>
        <div class="playhead" id="playhead"></div>
      </div>
      <span class="unseen" id="keys-here">Left and right move one second, up and down change the monitor by one decibel, S starts the region here, E ends it here, Home takes its start in hand and End its end, Shift with left or right moves that by 10 milliseconds, comma and full stop by one sample, W takes the whole loop, N the next loop, plus and minus look closer and wider, Space plays and pauses${singleLetters ? `, ${letters.in.toUpperCase()} is in circuit, ${letters.out.toUpperCase()} is out of circuit` : ''}.</span>
      <div class="caption">
        <span><span id="position" aria-hidden="true">0.0 s</span> · ${regionWords(session.region, this.#loopSeconds)}</span>
        <span class="ends">
          <button @click=${() => this.#startHere()}>Start here</button>
          <button @click=${() => this.#endHere()}>End here</button>
          ${session.region ? html`<button @click=${() => this.send({ kind: 'region', region: null })}>Whole loop</button>` : nothing}
          <button aria-label="Look closer" @click=${() => this.#look(true)}>Closer</button>
          ${this.state.live.material.view ? html`<button aria-label="Look wider" @click=${() => this.#look(false)}>Wider</button>` : nothing}
        </span>
      </div>
      <material-line .state=${this.state} .shape=${this.shape} .low=${this.low}></material-line>`;
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
    if (this.#linePace.due(nowMs, lessMotion() ? calmMs : meterMs)) {
      const share = this.#shareOf(readings.positionSeconds);
      const line = this.renderRoot.querySelector<HTMLElement>('#playhead')!;
      line.hidden = share < 0 || share > 1;
      line.style.left = `calc(${(100 * share).toFixed(3)}% - 1px)`;
    }
    if (this.#figurePace.due(nowMs, figureMs)) {
      const place = this.renderRoot.querySelector('#position')!;
      const words = timeWords(readings.positionSeconds);
      if (place.textContent !== words) place.textContent = words;
    }
  }

  constructor() {
    super();
    this.inHand = 'start';
  }

  get #loop(): ChosenLoop | null {
    return chosenLoop(this.state, this.loops);
  }

  get #loopSeconds(): number {
    return this.#loop?.seconds ?? 0;
  }

  /** Place in what the overview shows, 0 to 1 within it. */
  #shareOf(seconds: number): number {
    const { view } = this.state.live.material;
    const [start, length] = view ? [view.startSeconds, view.endSeconds - view.startSeconds] : [0, this.#loopSeconds];
    return length > 0 ? (seconds - start) / length : 0;
  }

  #ownOptions() {
    const { known } = this.state.live.material;
    if (known.length === 0) return nothing;
    return html`<optgroup label="Your files">${known.map(({ id, name, channels, reach }) =>
      html`<option value=${id} .selected=${id === this.state.session.loop}>${name}${channels === 1 ? '' : ', stereo'}${reach === 'pick' ? ', pick again …' : ''}</option>`)}</optgroup>`;
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
    if (!region) return nothing;
    // What lies beyond what is shown is cut off just outside of it.
    const within = (share: number) => 1000 * Math.min(1.01, Math.max(-0.01, share));
    const [start, end] = [within(this.#shareOf(region.startSeconds)), within(this.#shareOf(region.endSeconds))];
    const held = this.inHand === 'start' ? start : end;
    return svg`<rect class="region" x=${start} y="-1" width=${end - start} height="2"></rect><line class="hand" x1=${held} x2=${held} y1="-1" y2="1"></line>`;
  }

  #loopChosen(event: Event): void {
    const chooser = event.target as HTMLSelectElement;
    const { value } = chooser;
    const own = this.state.live.material.known.find(({ id }) => id === value);
    // The loop stays until another one is there.
    if (value === toneOption || value === inputOption || value === ownOption || (own && own.reach !== 'open')) chooser.value = this.state.session.loop;
    if (value === toneOption) this.send({ kind: 'ask-tone', ...this.state.session.probe });
    else if (value === inputOption) this.send({ kind: 'input-ask' });
    else if (value === ownOption) this.#pick();
    else if (own) this.#openOwn(own);
    else this.send({ kind: 'loop', loop: value });
  }

  #openOwn({ id, reach }: KnownMaterial): void {
    if (reach === 'open') this.send({ kind: 'loop', loop: id });
    else if (reach === 'handle') this.send({ kind: 'reopen-material', id });
    else this.#pick();
  }

  #pick(): void {
    void pickOwnFile().then((action) => action && this.send(action));
  }

  #startHere(): void {
    const start = this.#positionSeconds;
    const end = this.state.session.region?.endSeconds ?? this.#loopSeconds;
    this.inHand = 'start';
    this.#region(start, end > start + shortestRegionSeconds ? end : this.#loopSeconds);
  }

  #endHere(): void {
    const end = this.#positionSeconds;
    const start = this.state.session.region?.startSeconds ?? 0;
    this.inHand = 'end';
    this.#region(start < end - shortestRegionSeconds ? start : 0, end);
  }

  #region(startSeconds: number, endSeconds: number): void {
    if (endSeconds - startSeconds < shortestRegionSeconds) return;
    const whole = startSeconds <= 0 && endSeconds >= this.#loopSeconds;
    this.send({ kind: 'region', region: whole ? null : { startSeconds, endSeconds } });
  }

  #keyed(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const key = event.key.toLowerCase();
    // Where plus is on the upper row, Shift belongs to it.
    const perform = event.shiftKey && key !== '+' ? this.#shifted(key) : this.#command(key, event.repeat);
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
      case 'home': return () => this.#take('start');
      case 'end': return () => this.#take('end');
      case ',': return () => this.#nudge(-1);
      case '.': return () => this.#nudge(1);
      case '+': case '=': return () => this.#look(true);
      case '-': return () => this.#look(false);
      default: return null;
    }
  }

  #shifted(key: string): (() => void) | null {
    const frames = Math.round(nudgeSeconds * (this.#loop?.rateHz ?? 0));
    if (key === 'arrowleft') return () => this.#nudge(-frames);
    return key === 'arrowright' ? () => this.#nudge(frames) : null;
  }

  #take(end: RegionEnd): void {
    this.inHand = end;
    this.#tellHand();
  }

  #nudge(byFrames: number): void {
    const loop = this.#loop;
    if (!loop) return;
    this.send({ kind: 'region', region: nudged(this.state.session.region, this.inHand, byFrames, loop) });
    this.#tellHand();
  }

  #tellHand(): void {
    const { region } = this.state.session;
    const seconds = this.inHand === 'start' ? region?.startSeconds ?? 0 : region?.endSeconds ?? this.#loopSeconds;
    this.send({ kind: 'message', text: `${this.inHand === 'start' ? 'Start' : 'End'} of the region in hand, ${timeWords(seconds, 4)}`, urgent: false });
  }

  /** Round the end in hand; round the position while all is looped. */
  #look(closer: boolean): void {
    const { session: { region }, live: { material } } = this.state;
    const around = region ? (this.inHand === 'start' ? region.startSeconds : region.endSeconds) : this.#positionSeconds;
    this.send({ kind: 'loop-view', view: lookedAt(material.view, closer, around, this.#loopSeconds) });
  }

  #nextLoop(): void {
    const { session, live: { material } } = this.state;
    const all = [...this.loops.map(({ identifier }) => identifier), ...material.known.filter(({ reach }) => reach === 'open').map(({ id }) => id)];
    const next = all[(all.indexOf(session.loop) + 1) % Math.max(1, all.length)];
    if (next !== undefined) this.send({ kind: 'loop', loop: next });
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
    const share = Math.min(1, Math.max(0, (event.clientX - left) / width));
    const { view } = this.state.live.material;
    return view ? view.startSeconds + share * (view.endSeconds - view.startSeconds) : share * this.#loopSeconds;
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
