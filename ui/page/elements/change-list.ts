/** What changed from one setting to another, value by value and order by order: written the same wherever a history is shown. */
import { css, html, nothing } from 'lit';
import { judgeOrder } from '../../../dsp/measure/index.ts';
import { changeLine, orderChanges, orderLevelWords, pathChanges } from '../../../dsp/setting/index.ts';
import type { Measurement } from '../../../dsp/setting/index.ts';
import type { PathSetting } from '../../../dsp/path/index.ts';

/** A moment of a history. */
export interface Held {
  readonly path: PathSetting;
  readonly measurement: Measurement | null;
}

export const changeListStyles = css`
  .changes { list-style: none; font-size: 0.8125rem; line-height: 1.125rem; columns: 12rem auto; column-gap: 16px; }
  .changes li { break-inside: avoid; border-inline-start: 3px solid var(--pen); padding-inline-start: 6px; margin-top: 2px; }
  .changes .orders { border-inline-start-style: dotted; }
  .was { color: var(--pencil); font-style: italic; }
`;

/** The changes as a list; a sentence where there are none. */
export function changeList(was: Held, now: Held) {
  const lines = pathChanges(was.path, now.path).map(changeLine);
  const orders = (orderChanges(was.measurement, now.measurement) ?? []).filter(({ wasDb, nowDb }) => orderLevelWords(wasDb) !== orderLevelWords(nowDb));
  if (lines.length === 0 && orders.length === 0) return html`<p class="note">The same setting.</p>`;
  return html`<ul class="changes">
    ${lines.map(({ what, was: before, now: after }) => html`<li><b>${what}</b> ${after} <span class="was">was ${before}</span></li>`)}
    ${orders.map(({ order, wasDb, nowDb }) => html`<li class="orders"><b>H${order}</b> ${orderLevelWords(nowDb)} <span class="was">was ${orderLevelWords(wasDb)}</span>${judgeOrder(order).word === '' ? nothing : html` <span class="was">${judgeOrder(order).word}</span>`}</li>`)}
  </ul>`;
}
