/** The level match in words: one of five states, what was turned down, what is left over and what differs all the same. */
import { css, html, nothing } from 'lit';
import { liveMatchWords } from '../live-input-words.ts';
import { differencesWords, matchWords } from '../match-words.ts';
import { base } from '../styles/base.ts';
import { inName, outName } from '../tell.ts';
import { BenchElement } from './bench-element.ts';

export class MatchReading extends BenchElement {
  static override styles = [base, css`
    .heading { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; min-height: 24px; font-weight: 600; }
    .stale, .cannot-match { border-inline-start: 3px double var(--madder); padding-inline-start: 6px; }
    p { font-size: 0.8125rem; line-height: 1.125rem; }
    .switch { font-size: 0.8125rem; font-weight: 400; }
    .compact { font-size: 0.8125rem; line-height: 1.125rem; text-align: center; width: 100%; }
    .bands { font-size: 0.8125rem; line-height: 1.125rem; color: inherit; font-style: inherit; text-decoration: underline; text-decoration-style: dotted; text-underline-offset: 3px; }
  `];

  override render() {
    const { match, shelf } = this.state.live;
    const live = liveMatchWords(this.state);
    const { heading, lines } = live ? { heading: live.heading, lines: [live.line] } : matchWords(match, outName(this.state), inName(this.state));
    const on = match.kind !== 'off';
    const toggle = () => this.send({ kind: 'match', on: !on });
    const differences = match.kind === 'matched' && live === null ? match.differences : undefined;
    if (this.shape === 'narrow' || this.low) {
      const short = match.kind === 'matched' && live === null ? `matched, ${lines.at(match.waitsForSwitch ? 2 : 1)!.replace(' over', '')}` : heading;
      return html`<button class="compact" title=${on ? 'Turn the match off' : 'Turn the match on'} @click=${toggle}>${short}<span class="unseen">${differences ? `; ${differencesWords(differences)}` : ''}, turn the match ${on ? 'off' : 'on'}</span></button>`;
    }
    return html`
      <div class=${live ? 'live' : match.kind}>
        <div class="heading">${heading}<button class="switch" @click=${toggle}>Turn ${on ? 'off' : 'on'}<span class="unseen"> the match</span></button></div>
        ${lines.map((line) => html`<p class="computed">${line}</p>`)}
        ${differences ? html`<p class="computed"><button class="bands" aria-expanded=${shelf === 'listening'} @click=${() => this.send({ kind: 'shelf', shelf: shelf === 'listening' ? null : 'listening' })}>${differencesWords(differences)}<span class="unseen">, all bands</span></button></p>` : nothing}
      </div>`;
  }
}
customElements.define('match-reading', MatchReading);
