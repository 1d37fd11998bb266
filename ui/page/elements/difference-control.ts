/** Beside the big switch: only what the thing on trial adds, how far it is raised, and steps of a decibel. */
import { css, html, nothing } from 'lit';
import { differenceNote, differenceSentence } from '../difference-words.ts';
import { differenceSounds, raiseInForce } from '../reduce-difference.ts';
import { base } from '../styles/base.ts';
import { BenchElement } from './bench-element.ts';

export class DifferenceControl extends BenchElement {
  static override styles = [base, css`
    .box { display: block; width: 100%; height: 3.5rem; padding: 0; border: 2px solid var(--edge); background: var(--sheet); text-align: center; font: 600 0.9375rem/1.125rem 'STIX Two Text', 'Liberation Serif', serif; }
    .box:hover { text-decoration: none; }
    .box[aria-pressed='true'] { border-style: double; border-width: 4px; border-color: var(--ink); background: var(--wash); }
    .box .note { display: block; font: italic 400 0.8125rem/0.9375rem 'Source Sans 3', 'Liberation Sans', sans-serif; color: var(--pencil); }
    .caption { display: flex; align-items: center; justify-content: space-between; gap: 4px; min-height: 24px; margin-top: 4px; font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); }
    .steps { display: flex; gap: 4px; }
    .steps button { border: 1px solid var(--edge); background: var(--sheet); color: var(--ink); text-align: center; font-weight: 600; }
    :host([low]) .box { height: 2.75rem; font-size: 0.8125rem; }
    :host([shape='narrow']) .box, :host([low]) .box { line-height: 1rem; }
    :host([shape='narrow']) .caption, :host([low]) .caption { justify-content: center; }
    :host([low]) .caption { margin-top: 0; }
    :host([low]) .box.raised { height: 2.5rem; }
    @media (max-height: 700px) { :host([shape='narrow']) .box { height: 3rem; } }
    @media (forced-colors: active) { .box { border-color: ButtonText; } .box[aria-pressed='true'] { border-color: Highlight; } }
  `];

  override render() {
    const { live, session } = this.state;
    const { difference } = live;
    const { singleLetters, letters } = session.keys;
    const raiseDb = raiseInForce(difference);
    const most = difference.levels?.mostDb ?? 0;
    const sounds = differenceSounds(this.state);
    const letter = singleLetters && this.shape !== 'narrow' && !this.low;
    return html`
      <button class="box ${sounds ? 'raised' : ''}" aria-pressed=${difference.heard} aria-describedby="what" @click=${() => this.send({ kind: 'hear-difference', heard: !difference.heard })}>Difference<span class="note">${differenceNote(this.state)}</span></button>
      <span class="unseen" id="what">${differenceSentence(this.state) ?? 'hears only what the thing on trial adds, in place of the path'}</span>
      ${letter || sounds ? html`<div class="caption">
        ${letter ? html`<span class="letter">${letters.difference.toUpperCase()}</span>` : nothing}
        ${sounds ? html`<span class="steps" role="group" aria-label=${`Difference, raised by ${raiseDb} dB`}>
          <button aria-label="Difference 1 dB softer" @click=${() => this.send({ kind: 'raise-difference', stepDb: -1 })}>−</button>
          <button aria-label="Difference 1 dB louder" ?disabled=${raiseDb >= most} @click=${() => this.send({ kind: 'raise-difference', stepDb: 1 })}>+</button></span>` : nothing}
      </div>` : nothing}`;
  }
}
customElements.define('difference-control', DifferenceControl);
