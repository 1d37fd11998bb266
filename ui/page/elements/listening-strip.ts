/** The strip under the page: play, the switch, the loop, the match, the level. Always in sight. */
import { css, html } from 'lit';
import type { LoopEntry, Readings } from '../state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import type { DrawsReadings } from './bench-element.ts';
import './difference-control.ts';
import './in-out-box.ts';
import type { InputConsent } from './input-consent.ts';
import type { LiveInputLine } from './live-input-line.ts';
import './loop-line.ts';
import type { LoopLine } from './loop-line.ts';
import './match-reading.ts';
import './monitor-level.ts';
import type { MonitorLevel } from './monitor-level.ts';
import './tone-consent.ts';
import type { ToneConsent } from './tone-consent.ts';

export class ListeningStrip extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, loops: { attribute: false } };
  declare loops: readonly LoopEntry[];

  static override styles = [base, css`
    section { display: grid; gap: 0 24px; padding: 12px 0; border-top: 2px solid var(--ink); background: var(--paper); min-height: 7.5rem;
      grid-template: 'play box difference loop match level' auto / 6rem 11rem 6.5rem minmax(0, 1fr) 12.5rem 12.5rem; }
    .play { grid-area: play; } in-out-box { grid-area: box; } difference-control { grid-area: difference; } loop-line, tone-consent, input-consent, live-input-line { grid-area: loop; } match-reading { grid-area: match; } monitor-level { grid-area: level; }
    .play button { display: block; width: 100%; height: 3.5rem; border: 2px solid var(--ink); background: var(--sheet); text-align: center; font: 600 1.125rem/1.5rem 'STIX Two Text', 'Liberation Serif', serif; }
    .play button:hover { text-decoration: none; }
    .play .caption { font-size: 0.8125rem; line-height: 1.5rem; margin-top: 4px; color: var(--pencil); }
    :host([shape='folded']) section { grid-template-columns: 5rem 10.5rem 6.5rem minmax(0, 1fr) 12rem 8.75rem; gap: 0 16px; }
    :host([shape='docked']) section { gap: 0 16px; min-height: 0; grid-template: 'play box difference match level' auto 'loop loop loop loop loop' auto / 5rem 10.5rem 6.5rem minmax(0, 1fr) auto; padding: 8px 0; }
    :host([shape='narrow']) section { gap: 0 8px; min-height: 0; padding: 8px 0 4px;
      grid-template-columns: repeat(12, minmax(0, 1fr)); align-items: center;
      grid-template-areas: 'play play play box box box box box box difference difference difference' 'surface surface surface box box box box box box difference difference difference'
        'chooser chooser chooser chooser match match match match level level level level'; }
    :host([shape='narrow']) .play .caption { display: none; }
    @media (max-height: 700px) { :host([shape='narrow']) .play button { height: 3rem; } }
    :host([low]) section { gap: 0 8px; padding: 2px 0; min-height: 0; align-items: center;
      grid-template: 'play box difference loop match' auto 'play box difference loop level' auto / 4rem minmax(0, 14rem) 4.5rem minmax(3.75rem, 1fr) minmax(0, 10.5rem); }
    @media (pointer: coarse) { :host([low]) section { grid-template-columns: 3.5rem minmax(0, 14rem) 4.25rem minmax(6.5rem, 1fr) minmax(0, 10rem); } }
    :host([low]) .play button { height: 2.75rem; } :host([low]) .play .caption { display: none; }
    :host([low]) loop-line { align-self: center; }
    /* Where the loop's place is too small for a question, it stands over the strip in a row of its own. */
    :host([shape='narrow']) :is(tone-consent, input-consent, live-input-line), :host([low]) :is(tone-consent, input-consent, live-input-line) { grid-area: tone; padding-bottom: 8px; }
    :host([shape='narrow']) .asking { grid-template-areas: 'tone tone tone tone tone tone tone tone tone tone tone tone'
      'play play play box box box box box box difference difference difference' 'match match match box box box box box box difference difference difference' 'level level level level level level level level level level level level'; }
    :host([low]) .asking { grid-template: 'tone tone tone tone' auto 'play box difference match' auto 'play box difference level' auto / 4rem minmax(0, 14rem) 4.5rem minmax(0, 1fr); }
    @media (forced-colors: active) { .play button { border-color: ButtonText; } section { background: Canvas; } }
    @media print { section { display: none; } }
  `];

  override render() {
    const { live } = this.state;
    const sounding = live.playing || live.tonePlaying;
    const region = { state: this.state, shape: this.shape, low: this.low };
    return html`<section class=${this.#inLoopsPlace === 'loop' ? '' : 'asking'} aria-label="Listening">
      <div class="play">
        <button aria-keyshortcuts="Space" @click=${() => this.send({ kind: sounding ? 'pause' : 'play' })}>${sounding ? 'Pause' : 'Play'}</button>
        <div class="caption">${live.engine.kind === 'starting' ? 'starting …' : 'Space'}</div>
      </div>
      <in-out-box .state=${region.state} .shape=${region.shape} .low=${region.low}></in-out-box>
      <difference-control .state=${region.state} .shape=${region.shape} .low=${region.low}></difference-control>
      ${this.#loopsPlace()}
      <match-reading .state=${region.state} .shape=${region.shape} .low=${region.low}></match-reading>
      <monitor-level .state=${region.state} .shape=${region.shape} .low=${region.low}></monitor-level>
    </section>`;
  }

  /** What stands where the loop does: a question, or what plays in its place. */
  get #inLoopsPlace(): 'tone' | 'input-question' | 'input' | 'loop' {
    const { toneAsked, tonePlaying, input } = this.state.live;
    if (toneAsked !== null || tonePlaying) return 'tone';
    if (input.phase === 'asked' || input.phase === 'opening') return 'input-question';
    return input.sounding ? 'input' : 'loop';
  }

  #loopsPlace() {
    const { state, shape, low } = this;
    switch (this.#inLoopsPlace) {
      case 'tone': return html`<tone-consent .state=${state} .shape=${shape} .low=${low}></tone-consent>`;
      case 'input-question': return html`<input-consent .state=${state} .shape=${shape} .low=${low}></input-consent>`;
      case 'input': return html`<live-input-line .state=${state} .shape=${shape} .low=${low}></live-input-line>`;
      case 'loop': return html`<loop-line .state=${state} .shape=${shape} .low=${low} .loops=${this.loops}></loop-line>`;
    }
  }

  protected override updated(): void {
    const { toneAsked, input } = this.state.live;
    const asked = toneAsked !== null || input.phase === 'asked';
    if (asked && !this.#asked) void this.updateComplete.then(() => this.renderRoot.querySelector<ToneConsent | InputConsent>('tone-consent, input-consent')?.focusAnswer());
    this.#asked = asked;
  }

  #asked = false;

  focusSurface(): void {
    this.renderRoot.querySelector<LoopLine | LiveInputLine>('loop-line, live-input-line')?.focusSurface();
  }

  drawReadings(readings: Readings, nowMs: number): void {
    this.renderRoot.querySelector<LoopLine | LiveInputLine>('loop-line, live-input-line')?.drawReadings?.(readings, nowMs);
    this.renderRoot.querySelector<MonitorLevel>('monitor-level')?.drawReadings(readings, nowMs);
  }
}
customElements.define('listening-strip', ListeningStrip);
