/**
 * The blind comparison takes the whole page: a plan, then nothing but the question, equal boxes and answers, then the result. While it runs, nothing here
 * depends on what a token stands for: the page does not know it.
 */
import { css, html, nothing } from 'lit';
import { capital } from '../../documents/first-letter.ts';
import { hitsNeeded, powerOf, sequentialCharacteristics, type BlindAnswer, type BlindLength, type BlindPlan, type BlindToken, type IdentifyResult, type PreferResult } from '../../../dsp/listening/index.ts';
import type { BlindState } from '../blind-state.ts';
import { blindHindrance, excerptCount, mayAnswer } from '../reduce-blind.ts';
import type { Readings } from '../state.ts';
import { inName, outName, trialName } from '../tell.ts';
import { base } from '../styles/base.ts';
import { BenchElement, type DrawsReadings } from './bench-element.ts';
import { blindSheetStyles } from './blind-sheet-styles.ts';
import './excerpt-list.ts';
import './monitor-level.ts';
import type { MonitorLevel } from './monitor-level.ts';

/** Listening tires: after so long a pause is suggested; after so long a pause the ears are fresh again (common practice, no source). */
const pauseAfterMs = 20 * 60 * 1000;
const restMs = 3 * 60 * 1000;

type Running = Extract<BlindState, { kind: 'running' }>;
type Setup = Extract<BlindState, { kind: 'setup' }>;
type Ended = Extract<BlindState, { kind: 'ended' }>;

const percent = (share: number): string => `${(100 * share).toFixed(0)} %`;

export class BlindSheet extends BenchElement implements DrawsReadings {
  static override properties = { ...BenchElement.properties, loopLoaded: { state: true }, told: { state: true }, tired: { state: true } };
  declare loopLoaded: boolean;
  /** What T asked for. */
  declare told: string;
  declare tired: boolean;

  static override styles = [base, blindSheetStyles, css`:host { display: block; }`];

  #drawnMs: number | null = null;
  #listenedMs = 0;
  #restedMs = 0;

  constructor() {
    super();
    this.loopLoaded = false;
    this.told = '';
    this.tired = false;
  }

  override render() {
    const { blind } = this.state.live;
    if (blind === null) return nothing;
    return html`<main>${blind.kind === 'setup' ? this.#setup(blind) : blind.kind === 'running' ? this.#running(blind) : this.#ended(blind)}</main>`;
  }

  override updated(): void {
    const { blind } = this.state.live;
    if (blind?.kind !== 'running') this.#listenedMs = 0;
  }

  drawReadings(readings: Readings, nowMs: number): void {
    this.loopLoaded = readings.loopSeconds > 0;
    this.#tire(Math.max(0, nowMs - (this.#drawnMs ?? nowMs)));
    this.#drawnMs = nowMs;
    // The limiter's word and the peak stay as they are while it runs: they could tell the two apart.
    if (this.state.live.blind?.kind !== 'running') this.renderRoot.querySelector<MonitorLevel>('monitor-level')?.drawReadings(readings, nowMs);
  }

  #tire(passedMs: number): void {
    const { playing } = this.state.live;
    this.#restedMs = playing ? 0 : this.#restedMs + passedMs;
    if (this.#restedMs > restMs) this.#listenedMs = 0;
    else if (playing) this.#listenedMs += passedMs;
    this.tired = this.#listenedMs > pauseAfterMs;
  }

  /** Keys of a comparison under way. True: the key was meant for it. */
  takeKey(key: string): boolean {
    const { blind } = this.state.live;
    if (blind?.kind !== 'running' || blind.leaving) return false;
    const token = key.toUpperCase();
    if (token === 'A' || token === 'B' || (token === 'X' && blind.plan.task === 'identify')) this.send({ kind: 'blind-hear', token });
    else if (key === '1' || key === '2' || (key === '0' && blind.plan.task === 'prefer')) this.send({ kind: 'blind-answer', answer: Number(key) as BlindAnswer });
    else if (key === '[' || key === ',') this.#choose(blind.excerpt - 1);
    else if (key === ']' || key === '.') this.#choose(blind.excerpt + 1);
    else if (token === 'T') this.told = this.#count(blind);
    else if (key === ' ') this.send({ kind: this.state.live.playing ? 'pause' : 'play' });
    else return false;
    return true;
  }

  /** Beyond the last comes none. */
  #choose(excerpt: number): void {
    if (excerpt >= 1 && excerpt <= excerptCount(this.state)) this.send({ kind: 'blind-excerpt', excerpt });
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('h1')?.focus();
  }

  #setup({ plan, refusal, excerptMatch }: Setup) {
    const hindrance = blindHindrance({ ...this.state.live, loopLoaded: this.loopLoaded, excerptMatch });
    const { task, length, nullShare, training } = plan;
    const { region } = this.state.session;
    const set = (change: Partial<BlindPlan>) => this.send({ kind: 'blind-plan', plan: { ...plan, ...change } });
    return html`
      <h1 tabindex="-1">Blind comparison</h1>
      <p>${capital(this.#compared())}, on ${this.state.live.programme?.title ?? 'a loop that is not loaded yet'}${region ? `, ${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s` : ', the whole loop'}.
        Everything is settled before the first trial; what A, B and X stand for is known to nobody until the last answer.</p>
      <div class="form">
        <label>Question <select id="task" @change=${(event: Event) => set(withTask(plan, chosen(event)))}>
          <option value="identify" .selected=${task === 'identify'}>Which of A and B is X? (ABX)</option>
          <option value="prefer" .selected=${task === 'prefer'}>Which is preferred, A or B?</option></select></label>
        ${task === 'identify' ? html`<label>Length <select id="length" @change=${(event: Event) => set({ length: chosen(event) === 'fixed' ? fixedLength : sequentialLength })}>
          <option value="fixed" .selected=${length.kind === 'fixed'}>a fixed number of trials</option>
          <option value="sequential" .selected=${length.kind === 'sequential'}>until a sequential rule decides</option></select></label>` : nothing}
        ${length.kind === 'fixed' ? this.#fixed(length, set) : this.#sequential(length, set)}
        <label>Null trials, A and B the same <select id="nulls" @change=${(event: Event) => set({ nullShare: Number(chosen(event)) })}>
          ${[0, 0.1, 0.2, 0.3].map((share) => html`<option value=${share} .selected=${nullShare === share}>${share === 0 ? 'none' : `${percent(share)} of all`}</option>`)}</select></label>
        <label>Training trials, answered at once <select id="training" @change=${(event: Event) => set({ training: Number(chosen(event)) })}>
          ${[0, 3, 5, 10].map((count) => html`<option value=${count} .selected=${training === count}>${count}</option>`)}</select></label>
      </div>
      <h2>Excerpts</h2>
      <p class="note">Parts of the loop to choose among during a trial; without any, the region alone. One gain holds for all of them, and no more than 0.1 dB may be left in any.</p>
      <excerpt-list .state=${this.state}></excerpt-list>
      <p class="computed">${powerWords(plan)}</p>
      <p class="note">Decide the length now: stopping when ahead, or going on until it fits, makes any figure worthless. Pause after 20 to 30 minutes. Seed ${plan.seed}, recorded with the result.</p>
      <p class="error" ?hidden=${refusal === null && hindrance === null} id="why">${refusal ?? hindrance}</p>
      <div class="actions">
        <button class="boxed" id="begin" aria-disabled=${refusal !== null || hindrance !== null} aria-describedby="why" @click=${() => refusal === null && hindrance === null && this.send({ kind: 'blind-begin' })}>Begin</button>
        <button @click=${() => this.send({ kind: 'blind-close' })}>Back to the bench</button>
      </div>
      ${this.#monitor()}`;
  }

  #fixed({ trials, significance }: Extract<BlindLength, { kind: 'fixed' }>, set: (change: Partial<BlindPlan>) => void) {
    return html`
      <label>Trials <input id="trials" type="text" inputmode="numeric" .value=${String(trials)} @change=${(event: Event) => set({ length: { kind: 'fixed', trials: Number(typed(event)), significance } })} /></label>
      <label>Chance by guessing that is accepted <select id="significance" @change=${(event: Event) => set({ length: { kind: 'fixed', trials, significance: Number(chosen(event)) } })}>
        ${[0.05, 0.01, 0.001].map((level) => html`<option value=${level} .selected=${significance === level}>${100 * level} %</option>`)}</select></label>`;
  }

  #sequential({ plan }: Extract<BlindLength, { kind: 'sequential' }>, set: (change: Partial<BlindPlan>) => void) {
    const change = (part: Partial<typeof plan>) => set({ length: { kind: 'sequential', plan: { ...plan, ...part } } });
    return html`
      <label>Hit rate to be told from guessing <select id="rate" @change=${(event: Event) => change({ heardRate: Number(chosen(event)) })}>
        ${[0.65, 0.7, 0.75, 0.8, 0.9].map((rate) => html`<option value=${rate} .selected=${plan.heardRate === rate}>${percent(rate)}</option>`)}</select></label>
      <label>Chance of either error <select id="errors" @change=${(event: Event) => change({ falseAlarm: Number(chosen(event)), miss: Number(chosen(event)) })}>
        ${[0.1, 0.05, 0.01].map((error) => html`<option value=${error} .selected=${plan.falseAlarm === error}>${percent(error)}</option>`)}</select></label>
      <label>Ends after at most <select id="most" @change=${(event: Event) => change({ mostTrials: Number(chosen(event)) })}>
        ${[30, 60, 100].map((most) => html`<option value=${most} .selected=${plan.mostTrials === most}>${most} trials</option>`)}</select></label>`;
  }

  #running(blind: Running) {
    const { plan, token, truth, leaving, progress } = blind;
    const identify = plan.task === 'identify';
    const training = progress.phase === 'training';
    const answerable = mayAnswer(this.state);
    return html`
      <h1 tabindex="-1" class="question">${identify ? 'Which one is X?' : 'Which one do you prefer?'}</h1>
      <p class="count">${training ? 'training, ' : ''}${this.#count(blind)}</p>
      <div class="boxes" role="group" aria-label="Hear">
        ${(identify ? ['A', 'B', 'X'] as const : ['A', 'B'] as const).map((each) => this.#box(each, token))}
      </div>
      <div class="answers" role="group" aria-label="Answer">
        <button class="boxed" ?inert=${leaving} aria-disabled=${!answerable} @click=${() => this.send({ kind: 'blind-answer', answer: 1 })}>1<span> ${identify ? 'X is A' : 'A'}</span></button>
        <button class="boxed" ?inert=${leaving} aria-disabled=${!answerable} @click=${() => this.send({ kind: 'blind-answer', answer: 2 })}>2<span> ${identify ? 'X is B' : 'B'}</span></button>
        ${identify ? nothing : html`<button class="boxed" ?inert=${leaving} aria-disabled=${!answerable} @click=${() => this.send({ kind: 'blind-answer', answer: 0 })}>0<span> no preference</span></button>`}
      </div>
      ${this.#excerpts(blind)}
      <p class="truth">${truth ? `The X before was ${truth}.` : ''}</p>
      <p class="note">${this.tired ? 'You have listened for more than 20 minutes: make a pause, ears tire.' : ''}</p>
      <p class="unseen" role="status">${this.told}</p>
      <div class="foot">
        ${this.#monitor()}
        <button @click=${() => this.send({ kind: 'blind-rewind' })}>From the start</button>
        <button @click=${() => this.send({ kind: 'pause' })}>Pause</button>
        ${leaving
          ? html`<span role="group" aria-label="Leave?"><span>Leave? What was answered is kept as stopped. </span><button class="boxed" id="stop" @click=${() => this.send({ kind: 'blind-stop' })}>Leave</button>
            <button class="boxed" id="stay" @click=${() => this.send({ kind: 'blind-stay' })}>Stay</button></span>`
          : html`<button id="leave" @click=${() => this.send({ kind: 'blind-leave' })}>Leave</button>`}
      </div>`;
  }

  /** The same for every token: nothing here knows what sounds. */
  #excerpts({ excerpt, leaving }: Running) {
    const count = excerptCount(this.state);
    if (count === 1) return nothing;
    return html`<div class="excerpts" role="group" aria-label="Excerpt, keys [ and ]">
      ${Array.from({ length: count }, (_, index) => html`<button class="boxed" ?inert=${leaving} aria-pressed=${excerpt === index + 1} @click=${() => this.#choose(index + 1)}>excerpt ${index + 1}</button>`)}</div>`;
  }

  #box(each: BlindToken, token: BlindToken | null) {
    return html`<button class="box" aria-label=${`Hear ${each}`} aria-pressed=${token === each} @click=${() => this.send({ kind: 'blind-hear', token: each })}>${each}</button>`;
  }

  #ended({ record }: Ended) {
    const { result, trials, plan } = record;
    const { excerpts } = this.state.live;
    const identify = plan.task === 'identify';
    const named = (side: 0 | 1 | null): string => (side === null ? '' : this.#isPair ? [inName(this.state), outName(this.state)][side]! : side === 0 ? 'in' : 'out');
    return html`
      <h1 tabindex="-1">${headline(result)}</h1>
      <p>${this.#isPair ? '' : `${capital(trialName(this.state))}: `}${this.#isPair ? 'The' : 'the'} first is ${inName(this.state)}, the second ${outName(this.state)}. Seed ${plan.seed}.</p>
      ${result.words.map((words) => html`<p>${words}</p>`)}
      <table><caption>The trials</caption>
        <thead><tr><th>trial</th><th>A</th><th>B</th>${identify ? html`<th>X</th>` : nothing}<th>answer</th><th>${identify ? 'hit' : ''}</th>${excerpts.length > 0 ? html`<th>excerpts</th>` : nothing}</tr></thead>
        <tbody>${trials.map(({ A, B, X, answer, hit, isNull, excerpts: heard }, k) => html`<tr><td>${k + 1}</td><td>${named(A)}</td><td>${named(B)}</td>${identify ? html`<td>${named(X)}</td>` : nothing}
          <td>${answer === 0 ? 'none' : answer === 1 ? 'A' : 'B'}</td><td>${isNull ? 'null trial' : hit === null ? '' : hit ? 'yes' : 'no'}</td>${excerpts.length > 0 ? html`<td>${heard.join(', ')}</td>` : nothing}</tr>`)}</tbody></table>
      <p class="note">Sources: binomial distribution, exact; interval of Clopper and Pearson, 1934; power after Leventhal, 1986; double-blind ABX after Clark, 1982; sequential rule after Wald, 1947.</p>
      <div class="actions">
        <button class="boxed" id="save" @click=${() => this.send({ kind: 'blind-save' })}>Save the record</button>
        <button @click=${() => this.send({ kind: 'blind-close' })}>Back to the bench</button>
      </div>`;
  }

  get #isPair(): boolean {
    return this.state.session.pair !== null;
  }

  #compared(): string {
    return this.#isPair ? trialName(this.state) : `${trialName(this.state)}: ${inName(this.state)} against ${outName(this.state)}`;
  }

  #monitor() {
    return html`<monitor-level ?plain=${this.state.live.blind?.kind === 'running'} .state=${this.state} .shape=${'wide'} .low=${true}></monitor-level>`;
  }

  #count({ progress }: Running): string {
    return progress.number === null ? 'ended' : `trial ${progress.number}${progress.of === null ? '' : ` of ${progress.of}`}`;
  }
}
customElements.define('blind-sheet', BlindSheet);

const chosen = (event: Event): string => (event.target as HTMLSelectElement).value;
const typed = (event: Event): string => (event.target as HTMLInputElement).value.trim() || 'NaN';

const fixedLength: BlindLength = { kind: 'fixed', trials: 16, significance: 0.05 };
const sequentialLength: BlindLength = { kind: 'sequential', plan: { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 60 } };

function withTask(plan: BlindPlan, task: string): Partial<BlindPlan> {
  if (task === 'identify') return { task };
  return { task: 'prefer', ...(plan.length.kind === 'sequential' && { length: fixedLength }) };
}

/** What the plan can show, before it begins. */
function powerWords({ task, length }: BlindPlan): string {
  if (length.kind === 'sequential') {
    const { plan } = length;
    const guessing = sequentialCharacteristics(plan, plan.guessRate);
    const hearing = sequentialCharacteristics(plan, plan.heardRate);
    return `Someone who guesses passes with ${(100 * guessing.heard).toFixed(1)} % and needs ${guessing.meanTrials.toFixed(0)} trials on average; someone right in ${percent(plan.heardRate)} passes with ${percent(hearing.heard)} after ${hearing.meanTrials.toFixed(0)}.`;
  }
  const { trials, significance } = length;
  if (!Number.isInteger(trials) || trials < 1 || trials > 1000) return '';
  if (task === 'prefer') return 'Two-sided sign test on the trials with a preference; null trials show how often one is stated where there is nothing to prefer.';
  const needed = hitsNeeded(trials, significance);
  if (needed === null) return `${trials} trials are too few: even all hits come by guessing more often than in ${100 * significance} %.`;
  return `${needed} hits in ${trials} are needed. Someone right in 60 % passes with ${percent(powerOf(trials, needed, 0.6))}, in 70 % with ${percent(powerOf(trials, needed, 0.7))}, in 90 % with ${percent(powerOf(trials, needed, 0.9))}.`;
}

function headline(result: IdentifyResult | PreferResult): string {
  if (result.stopped) return 'Stopped before the end';
  return result.task === 'identify' ? `${result.hits} of ${result.trials}` : `${result.first} to ${result.second}`;
}
