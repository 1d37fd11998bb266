/**
 * One sitting of a long listening takes the whole page: play, pause, level, and afterwards what the listener writes down. No switch, no meters; nothing here depends on
 * which side sounds: the page does not know it.
 */
import { css, html, nothing } from 'lit';
import { highestRating, lowestRating } from '../../../dsp/listening/index.ts';
import type { LongListening } from '../../../dsp/setting/index.ts';
import { localMinute } from '../local-minute.ts';
import { sittingHindrance, sittingListening } from '../reduce-sitting.ts';
import type { Sitting, WrittenLog } from '../sitting-state.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';
import { blindSheetStyles } from './blind-sheet-styles.ts';
import './monitor-level.ts';

const ratings = Array.from({ length: highestRating - lowestRating + 1 }, (_, index) => lowestRating + index);

export class SittingSheet extends BenchElement {
  static override properties = { ...BenchElement.properties, written: { state: true }, lacks: { state: true } };
  /** What has been chosen and typed so far. */
  declare written: Partial<WrittenLog>;
  /** What is still to be chosen, once it was asked for. */
  declare lacks: string;

  static override styles = [base, blindSheetStyles, css`
    :host { display: block; }
    fieldset { border: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 4px 16px; align-items: center; }
    legend { font-weight: 600; padding: 0; }
    fieldset label { display: inline-flex; align-items: center; gap: 4px; min-height: 24px; min-width: 24px; }
    textarea { width: 100%; min-height: 5rem; font: inherit; color: var(--ink); background: var(--sheet); border: 1px solid var(--edge); padding: 4px 8px; box-sizing: border-box; }
    @media (pointer: coarse) { fieldset label { min-height: 44px; min-width: 44px; } }
  `];

  constructor() {
    super();
    this.written = { words: '', noIdea: false };
    this.lacks = '';
  }

  override render() {
    const { sitting } = this.state.live.long;
    const listening = sittingListening(this.state);
    if (sitting === null || listening === null) return nothing;
    const number = listening.sittings.length + 1;
    return html`<main>
      <h1 tabindex="-1" class="question">Sitting ${number} of ${2 * listening.plan.pairs}</h1>
      ${sitting.phase === 'log' ? this.#log(listening, sitting) : this.#hearing(listening, sitting)}
      <p class="error" ?hidden=${!this.state.live.message?.urgent}>${this.state.live.message?.urgent ? this.state.live.message.text : ''}</p>
      ${sitting.leaving ? html`<div class="foot" role="group" aria-label="Leave?"><span>Leave without a word? This sitting is heard anew, and counted as broken off. </span>
          <button class="boxed" id="drop" @click=${() => this.send({ kind: 'sitting-drop' })}>Leave</button><button class="boxed" @click=${() => this.send({ kind: 'sitting-stay' })}>Stay</button></div>`
        : html`<div class="foot">
          <monitor-level plain .state=${this.state} .shape=${'wide'} .low=${true}></monitor-level>
          <button id="leave" @click=${() => this.send({ kind: 'sitting-leave' })}>${sitting.began === null ? 'Back to the bench' : 'Leave'}</button></div>`}
    </main>`;
  }

  /** True: the key was meant for it. Escape has silenced it already; a sitting under way is left by its button alone. */
  takeKey(event: KeyboardEvent): boolean {
    const { sitting } = this.state.live.long;
    if (sitting === null || event.ctrlKey || event.metaKey || event.altKey) return false;
    if (event.key === 'Escape') {
      if (sitting.began === null) this.send({ kind: 'sitting-leave' });
      return true;
    }
    const inField = event.composedPath()[0] instanceof HTMLElement && (event.composedPath()[0] as HTMLElement).matches('button, input, textarea, select');
    if (event.key !== ' ' || inField || event.repeat || sitting.phase === 'log') return false;
    this.#playOrPause();
    return true;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('h1')?.focus();
  }

  #hearing({ compared }: LongListening, { began }: Sitting) {
    const hindrance = began === null ? sittingHindrance(this.state) : null;
    const { playing } = this.state.live;
    const { programme, region } = compared;
    return html`
      <p>${programme?.title ?? ''}${region ? `, ${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s` : ''}, once, under one of two: ${compared.names[0]} or ${compared.names[1]} (${compared.what}).
        Which one is known to nobody. Set the level once, at the beginning, and leave it.</p>
      <p class="error" id="why" ?hidden=${hindrance === null}>${hindrance}</p>
      <div class="answers">
        <button class="boxed" id="play" aria-disabled=${hindrance !== null} aria-describedby="why" @click=${() => this.#playOrPause()}>${playing ? 'Pause' : began === null ? 'Play' : 'Go on'}</button>
        ${began === null ? nothing : html`<button class="boxed" id="finish" @click=${() => this.send({ kind: 'sitting-finish' })}>I have heard enough</button>`}
      </div>
      <p class="note">After twenty to thirty minutes a pause does the ears good; it plays on from where it was.</p>`;
  }

  #playOrPause(): void {
    this.send(this.state.live.playing ? { kind: 'pause' } : { kind: 'sitting-play', now: localMinute() });
  }

  #log({ compared: { names } }: LongListening, { toTheEnd }: Sitting) {
    const set = (change: Partial<WrittenLog>) => { this.written = { ...this.written, ...change }; };
    const scale = (name: 'ease' | 'fatigue', legend: string) => html`<fieldset><legend>${legend}</legend>
      ${ratings.map((rating) => html`<label><input type="radio" name=${name} .checked=${this.written[name] === rating} @change=${() => set({ [name]: rating })} />${rating}</label>`)}</fieldset>`;
    return html`
      <p>${toTheEnd ? 'The programme has come to its end.' : 'Not heard to its end, which is written down too.'} Write down how it was, before anything else.</p>
      ${scale('ease', 'How easy it was to listen: 1 hard, 7 easy')}
      ${scale('fatigue', 'How tired your ears are now: 1 fresh, 7 worn out')}
      <fieldset><legend>Which one was it? Choose one, even if it is a guess</legend>
        ${([0, 1] as const).map((side) => html`<label><input type="radio" name="believed" .checked=${this.written.believed === side} @change=${() => set({ believed: side })} />${names[side]}</label>`)}
        <label><input type="checkbox" .checked=${this.written.noIdea === true} @change=${(event: Event) => set({ noIdea: (event.target as HTMLInputElement).checked })} />no idea, that is a guess</label></fieldset>
      <label>In words, if you like<textarea id="words" maxlength="4000" .value=${this.written.words ?? ''} @input=${(event: Event) => set({ words: (event.target as HTMLTextAreaElement).value })}></textarea></label>
      <p class="error" role="alert" id="lacks" ?hidden=${this.lacks === ''}>${this.lacks}</p>
      <div class="answers"><button class="boxed" id="write" @click=${() => this.#write()}>Write it down</button>
        ${toTheEnd ? nothing : html`<button class="boxed" @click=${() => this.send({ kind: 'sitting-back' })}>Hear on</button>`}</div>`;
  }

  #write(): void {
    const { ease, fatigue, believed, noIdea = false, words = '' } = this.written;
    if (ease === undefined || fatigue === undefined || believed === undefined) {
      this.lacks = `Still to choose: ${[...(ease === undefined ? ['how easy it was'] : []), ...(fatigue === undefined ? ['how tired your ears are'] : []), ...(believed === undefined ? ['which one it was'] : [])].join(', ')}.`;
      return;
    }
    this.send({ kind: 'sitting-log', log: { ease, fatigue, believed, noIdea, words: words.trim() }, date: localMinute().slice(0, 10) });
  }
}
customElements.define('sitting-sheet', SittingSheet);
