/** The session's log takes the whole page: what was done, by day, and the log as a file. */
import { css, html } from 'lit';
import { base } from '../styles/base.ts';
import type { LogEntry } from '../session-log-state.ts';
import { BenchElement } from './bench-element.ts';

export class SessionLogSheet extends BenchElement {
  static override styles = [base, css`
    :host { max-width: 48rem; margin: 0 auto; padding: 16px 0 48px; }
    h1 { margin-bottom: 8px; }
    .actions { display: flex; flex-wrap: wrap; align-items: center; gap: 8px 16px; margin: 8px 0 16px; }
    h2 { margin-top: 16px; border-bottom: 1px solid var(--edge); }
    ol { list-style: none; }
    li { display: grid; grid-template-columns: 5rem 1fr; gap: 0 12px; padding: 2px 0; border-bottom: 1px solid var(--grid); }
    .words { overflow-wrap: anywhere; white-space: pre-wrap; }
    .file { font-size: 0.8125rem; line-height: 1.125rem; grid-column: 2; overflow-wrap: anywhere; }
    :host([shape='narrow']) li { grid-template-columns: 1fr; }
    :host([shape='narrow']) .file { grid-column: 1; }
    @media print { .actions { display: none; } :host { max-width: none; } }
  `];

  override render() {
    const { sessionLog } = this.state.live;
    return html`<main>
      <h1 id="heading" tabindex="-1">Session log</h1>
      <p>What was done at this bench, one line a gesture, kept in this browser only. Nothing is uploaded.</p>
      <div class="actions">
        <button class="boxed" id="save-text" @click=${() => this.send({ kind: 'save-session-log', as: 'text' })}>Save as text</button>
        <button class="boxed" id="save-json" @click=${() => this.send({ kind: 'save-session-log', as: 'json' })}>Save as JSON</button>
        <button id="back" @click=${() => this.send({ kind: 'whole-page', page: null })}>Back to the bench</button>
      </div>
      ${days(sessionLog).map(({ day, entries }) => html`<h2>${day}</h2><ol>${entries.map(line)}</ol>`)}
    </main>`;
  }

  focusHeading(): void {
    this.renderRoot.querySelector<HTMLElement>('#heading')?.focus();
  }
}
customElements.define('session-log-sheet', SessionLogSheet);

/** The newest day first, each in the order in which things were done. */
function days(log: readonly LogEntry[]): { readonly day: string; readonly entries: readonly LogEntry[] }[] {
  const found = new Map<string, LogEntry[]>();
  for (const entry of log) {
    const day = entry.at.slice(0, 10);
    found.set(day, [...(found.get(day) ?? []), entry]);
  }
  return [...found].map(([day, entries]) => ({ day, entries })).reverse();
}

function line({ at, words, data }: LogEntry) {
  const sha256 = data['settingSha256'];
  return html`<li><time class="computed" datetime=${at.replace(' ', 'T')}>${at.slice(11)}</time><span class="words">${words}</span>
    ${typeof sha256 === 'string' ? html`<span class="file computed">setting ${sha256.slice(0, 16)}</span>` : ''}</li>`;
}
