/** Long listening on the listening shelf: a plan, the next sitting, what was written down, the end. Which side a sitting had is shown after the end alone. */
import { css, html, nothing } from 'lit';
import { longPlanWords, longResult, sittingSides, type LongQuestion } from '../../../dsp/listening/index.ts';
import { concealmentWords, type LongListening } from '../../../dsp/setting/index.ts';
import { localMinute } from '../local-minute.ts';
import { goesOn, listeningId, openingHindrance, planHindrance } from '../reduce-sitting.ts';
import type { KeptListening } from '../sitting-state.ts';
import { base } from '../styles/base.ts';
import { panelStyles } from '../styles/shelf.ts';
import { inName, outName, trialName } from '../tell.ts';
import { BenchElement } from './bench-element.ts';

const questions: Readonly<Record<LongQuestion, string>> = { ease: 'Is one easier to listen to?', fatigue: 'Does one tire more?', 'told-apart': 'Can they be told apart?' };
const levels: readonly number[] = [0.05, 0.01];

export class LongListeningPanel extends BenchElement {
  static override styles = [base, panelStyles, css`
    :host { font-size: 0.8125rem; line-height: 1.125rem; }
    .form { display: grid; gap: 2px; }
    .form label { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 16px; align-items: baseline; min-height: 1.75rem; }
    .form input { width: 4rem; text-align: end; font-weight: 600; }
    .actions { display: flex; flex-wrap: wrap; gap: 4px 12px; align-items: baseline; }
    .listening { border-top: 1px solid var(--edge); margin-top: 8px; padding-top: 8px; }
    .scroll { overflow-x: auto; }
    table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
    th, td { text-align: start; padding: 2px 12px 2px 0; border-bottom: 1px solid var(--grid); font-weight: 400; vertical-align: top; }
    th { color: var(--pencil); }
  `];

  override render() {
    return html`
      <h3>Long listening</h3>
      <p>Whole programmes, one concealed side a sitting, over days. Sittings come in pairs with both sides in each; after the last one it is revealed which was which. A saved file is taken up again by Thaw.</p>
      ${this.#planning()}
      ${this.state.live.long.listenings.map((kept) => this.#listening(kept))}`;
  }

  #planning() {
    const { choice } = this.state.live.long;
    const hindrance = planHindrance(this.state);
    const set = (change: Partial<typeof choice>) => this.send({ kind: 'long-choice', choice: { ...choice, ...change } });
    return html`
      <div class="form">
        <label>The one question <select id="question" @change=${(event: Event) => set({ question: chosen(event) as LongQuestion })}>
          ${(Object.keys(questions) as LongQuestion[]).map((id) => html`<option value=${id} .selected=${choice.question === id}>${questions[id]}</option>`)}</select></label>
        <label>Pairs of sittings <input id="pairs" type="text" inputmode="numeric" .value=${String(choice.pairs)} @change=${(event: Event) => set({ pairs: Number((event.target as HTMLInputElement).value.trim() || 'NaN') })} /></label>
        <label>Chance of accident that is accepted <select id="significance" @change=${(event: Event) => set({ significance: Number(chosen(event)) })}>
          ${levels.map((level) => html`<option value=${level} .selected=${choice.significance === level}>${100 * level} %</option>`)}</select></label>
      </div>
      <p class="computed">${Number.isInteger(choice.pairs) && choice.pairs >= 1 && choice.pairs <= 1000 ? longPlanWords({ ...choice, seed: 0 }) : ''}</p>
      <p>On trial: ${this.state.session.pair === null ? `${trialName(this.state)}, ${inName(this.state)} and ${outName(this.state)}` : trialName(this.state)}; what lies in the region, once a sitting.</p>
      <p class="error" id="why" ?hidden=${hindrance === null}>${hindrance}</p>
      <div class="actions"><button class="boxed" id="plan" aria-disabled=${hindrance !== null} aria-describedby="why" @click=${() => hindrance === null && this.#plan()}>Plan it</button></div>`;
  }

  #plan(): void {
    const seed = crypto.getRandomValues(new Uint32Array(1))[0]!;
    const date = localMinute().slice(0, 10);
    this.send({ kind: 'long-plan', id: listeningId({ date, plan: { seed } }), seed, date });
  }

  #listening(kept: KeptListening) {
    const { id, listening } = kept;
    const { compared, plan, sittings, date, ended } = listening;
    const { programme, region } = compared;
    const hindrance = goesOn(kept) ? openingHindrance(this.state, listening) : null;
    const asking = this.state.live.long.ending === id;
    const last = sittings.at(-1);
    return html`<div class="listening" role="group" aria-label=${`Long listening of ${date}`}>
      <h4>${compared.what}: ${compared.names[0]}, ${compared.names[1]}</h4>
      <p>${programme?.title ?? 'unknown programme'}${region ? `, ${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s` : ''}. Planned on ${date}. ${questions[plan.question]}
        <strong>${sittings.length} of ${2 * plan.pairs} sittings</strong>${last ? `, the last on ${last.began.slice(0, 10)}` : ''}.</p>
      ${ended === null ? html`
        <p class="error" ?hidden=${hindrance === null}>${hindrance}</p>
        ${asking ? html`<div class="actions" role="group" aria-label="End it?"><span>End it now and reveal? It is recorded as ended at ${sittings.length} of ${2 * plan.pairs}.</span>
          <button class="boxed" id="end" @click=${() => this.send({ kind: 'long-end', id, date: localMinute().slice(0, 10) })}>End and reveal</button>
          <button class="boxed" @click=${() => this.send({ kind: 'long-go-on' })}>Go on</button></div>`
        : html`<div class="actions">
          <button class="boxed" id="sit" aria-disabled=${hindrance !== null} @click=${() => hindrance === null && this.send({ kind: 'sitting-open', id })}>Sitting ${sittings.length + 1}</button>
          <button @click=${() => this.send({ kind: 'long-ask-end', id })}>End now</button>
          <button @click=${() => this.send({ kind: 'long-save', id })}>Save as a file</button>
          ${sittings.length === 0 ? html`<button @click=${() => this.send({ kind: 'long-remove', id })}>Remove</button>` : nothing}</div>
          <p class="pencil">${concealmentWords}</p>`}`
      : html`<div class="result">${longResult(plan, sittings, compared.names, listening.brokenOff).words.map((words) => html`<p>${words}</p>`)}</div>`}
      ${sittings.length > 0 ? html`<div class="scroll" tabindex="0" role="region" aria-label="Sittings">${table(listening)}</div>` : nothing}
      ${ended === null ? nothing : html`
        <p class="pencil">Sources: paired randomisation test after Fisher, 1935; binomial distribution, exact; interval of Clopper and Pearson, 1934. Ratings from 1 to 7: common practice, no source.</p>
        <div class="actions"><button class="boxed" @click=${() => this.send({ kind: 'long-save', id })}>Save as a file</button><button @click=${() => this.send({ kind: 'long-remove', id })}>Remove</button></div>`}
    </div>`;
  }
}
customElements.define('long-listening-panel', LongListeningPanel);

const chosen = (event: Event): string => (event.target as HTMLSelectElement).value;

/** The sides stand in it after the end alone. */
function table({ compared: { names }, plan, sittings, ended }: LongListening) {
  const sides = ended === null ? null : sittingSides(plan);
  return html`<table><thead><tr><th>sitting</th><th>began</th><th>minutes</th><th>ease</th><th>fatigue</th><th>believed</th>${sides ? html`<th>was</th>` : nothing}<th>words</th></tr></thead>
    <tbody>${sittings.map(({ began, heardSeconds, toTheEnd, ease, fatigue, believed, noIdea, words }, index) => html`<tr><td>${index + 1}</td><td>${began.replace('T', ' ')}</td>
      <td>${(heardSeconds / 60).toFixed(1)}${toTheEnd ? '' : ', not to the end'}</td><td>${ease}</td><td>${fatigue}</td><td>${names[believed]}${noIdea ? ', a guess' : ''}</td>
      ${sides ? html`<td>${names[sides[index]!]}</td>` : nothing}<td>${words}</td></tr>`)}</tbody></table>`;
}
