/** The level match in words: one of five states, what was turned down, what is left over. */
import { css, html } from 'lit';
import { liveMatchWords } from '../live-input-words.ts';
import type { MatchState } from '../state.ts';
import { base } from '../styles/base.ts';
import { outName } from '../tell.ts';
import { BenchElement } from './bench-element.ts';

/** The state's heading and the lines under it; `out`: what the other side is called. */
export function matchWords(match: MatchState, out: string): { readonly heading: string; readonly lines: readonly string[] } {
  switch (match.kind) {
    case 'off': return { heading: 'match off', lines: ['in and out at their own levels'] };
    case 'stale': return { heading: 'stale since a change', lines: ['measured again in a moment'] };
    case 'measuring': return { heading: 'measuring', lines: [] };
    case 'cannot-match': return { heading: 'cannot match', lines: [match.why] };
    case 'matched': return {
      heading: 'matched',
      lines: [turnedDown(match.inGainDb, match.outGainDb, out), `${Math.abs(match.residualDb).toFixed(2)} dB left over`,
        ...(match.waitsForSwitch ? ['waits for the next switch'] : [])],
    };
  }
}

function turnedDown(inGainDb: number, outGainDb: number, out: string): string {
  if (inGainDb < -0.005) return `in circuit turned down ${(-inGainDb).toFixed(2)} dB`;
  if (outGainDb < -0.005) return `${out} turned down ${(-outGainDb).toFixed(2)} dB`;
  return 'nothing turned down';
}

export class MatchReading extends BenchElement {
  static override styles = [base, css`
    .heading { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; min-height: 24px; font-weight: 600; }
    .stale, .cannot-match { border-inline-start: 3px double var(--madder); padding-inline-start: 6px; }
    p { font-size: 0.8125rem; line-height: 1.125rem; }
    .switch { font-size: 0.8125rem; font-weight: 400; }
    .compact { font-size: 0.8125rem; line-height: 1.125rem; text-align: center; width: 100%; }
  `];

  override render() {
    const { match } = this.state.live;
    const live = liveMatchWords(this.state);
    const { heading, lines } = live ? { heading: live.heading, lines: [live.line] } : matchWords(match, outName(this.state));
    const on = match.kind !== 'off';
    const toggle = () => this.send({ kind: 'match', on: !on });
    if (this.shape === 'narrow' || this.low) {
      const short = match.kind === 'matched' && live === null ? `matched, ${lines.at(match.waitsForSwitch ? 2 : 1)!.replace(' over', '')}` : heading;
      return html`<button class="compact" title=${on ? 'Turn the match off' : 'Turn the match on'} @click=${toggle}>${short}<span class="unseen">, turn the match ${on ? 'off' : 'on'}</span></button>`;
    }
    return html`
      <div class=${live ? 'live' : match.kind}>
        <div class="heading">${heading}<button class="switch" @click=${toggle}>Turn ${on ? 'off' : 'on'}<span class="unseen"> the match</span></button></div>
        ${lines.map((line) => html`<p class="computed">${line}</p>`)}
      </div>`;
  }
}
customElements.define('match-reading', MatchReading);
