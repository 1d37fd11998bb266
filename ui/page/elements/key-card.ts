/** The list of keys; single letters can be changed and switched off here. */
import { css, html, nothing } from 'lit';
import { commandWords, defaultLetters, keyCommands, keyConflict } from '../keys.ts';
import type { KeyCommand, KeySettings } from '../state.ts';
import { base } from '../styles/base.ts';
import { shelfStyles } from '../styles/shelf.ts';
import { BenchElement } from './bench-element.ts';

/** Keys that are what they are. */
const fixedKeys: readonly (readonly [string, string])[] = [
  ['Space', 'Play or pause'],
  ['Escape', 'Silence at once, in every state'],
  ['Ctrl or Cmd + Z', 'Undo'],
  ['Shift + Ctrl or Cmd + Z', 'Redo'],
  ['Ctrl or Cmd + S', 'Freeze'],
  ['On the listening surface', 'Left and right one second, up and down one decibel; S start here, E end here, W whole loop, N next loop; Home or End takes an end of the region in hand, Shift + left and right move it by 10 ms, comma and full stop by one sample; + and − look closer and wider'],
  ['On a value', 'Arrows, Page, Home, End; digits type; Backspace restores the default; Shift is finer'],
  ['On the path', 'Arrows choose, Shift + arrows move the stage, Insert and Delete add and remove'],
];

export class KeyCard extends BenchElement {
  static override properties = { ...BenchElement.properties, refusal: { state: true } };
  declare refusal: string | null;

  static override styles = [base, shelfStyles, css`
    .columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr)); gap: 0 32px; margin-top: 8px; }
    .row { display: grid; grid-template-columns: auto minmax(0, 1fr); gap: 8px; padding: 4px 0; border-bottom: 1px solid var(--grid); align-items: center; }
    .key { font-weight: 600; width: 10rem; max-width: 40vw; }
    input[type='text'] { width: 3rem; text-align: center; text-transform: uppercase; font-weight: 600; }
    .switches { display: flex; flex-wrap: wrap; gap: 4px 24px; margin-top: 12px; }
    label.target { display: inline-flex; align-items: center; gap: 8px; min-height: 24px; }
  `];

  override render() {
    const { keys } = this.state.session;
    return html`<section aria-labelledby="heading">
      <div class="head"><h2 id="heading" tabindex="-1">Keys</h2><button class="boxed" @click=${() => this.send({ kind: 'shelf', shelf: null })}>Close</button></div>
      <div class="columns">
        <div>${keyCommands.map((command) => html`<div class="row">
          <span><input type="text" maxlength="1" autocomplete="off" spellcheck="false" aria-label=${`Letter: ${commandWords[command]}`} .value=${keys.letters[command].toUpperCase()}
            ?disabled=${!keys.singleLetters} @change=${(event: Event) => this.#changed(command, event)} /></span>
          <span>${commandWords[command]}</span></div>`)}
        </div>
        <div>${fixedKeys.map(([key, words]) => html`<div class="row"><span class="key">${key}</span><span>${words}</span></div>`)}</div>
      </div>
      ${this.refusal ? html`<p class="error" role="alert">${this.refusal}</p>` : nothing}
      <div class="switches">
        <label class="target"><input type="checkbox" .checked=${keys.singleLetters} @change=${(event: Event) => this.#set({ singleLetters: isChecked(event) })} />Single letters act</label>
        <label class="target"><input type="checkbox" .checked=${keys.speakSwitches} @change=${(event: Event) => this.#set({ speakSwitches: isChecked(event) })} />Speak each switch</label>
        <button @click=${() => this.#set({ letters: defaultLetters })}>Default letters</button>
      </div>
    </section>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }

  #changed(command: KeyCommand, event: Event): void {
    const field = event.target as HTMLInputElement;
    const letters = { ...this.state.session.keys.letters, [command]: field.value.toLowerCase() };
    this.refusal = keyConflict(letters);
    if (this.refusal) field.value = this.state.session.keys.letters[command].toUpperCase();
    else this.#set({ letters });
  }

  #set(change: Partial<KeySettings>): void {
    this.refusal = null;
    this.send({ kind: 'keys', keys: { ...this.state.session.keys, ...change } });
  }
}
customElements.define('key-card', KeyCard);

function isChecked(event: Event): boolean {
  return (event.target as HTMLInputElement).checked;
}
