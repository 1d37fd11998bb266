/** One bar of the ledger, lying or standing, filled by the table of orders, with the mark of the gesture and the kept one. */
import { html, nothing, svg } from 'lit';
import type { OrderFill } from '../../../dsp/measure/index.ts';
import { barShare } from '../elements/harmonic-words.ts';

/** Marks to draw in dB; undefined: none. */
export interface BarMarks {
  readonly gestureDb: number | undefined;
  readonly keptDb: number | undefined;
}

/** Bar of any width (its row's) and 16 px of height. */
export function lyingBar(db: number, fill: OrderFill, marks: BarMarks): unknown {
  const share = barShare(db);
  return html`<svg class="bar" height="20" aria-hidden="true">${hatches}
    <line class="zero" x1="0" x2="0" y1="0" y2="20" />
    ${share > 0 ? svg`<rect class=${fill} x="0" y="3" height="14" width=${percent(share)} />` : nothing}
    ${lyingMark(marks.gestureDb, 'gesture')}${lyingMark(marks.keptDb, 'kept')}</svg>`;
}

/** Bar of 24 px of width and the height given, standing on its foot. */
export function standingBar(db: number, fill: OrderFill, marks: BarMarks, heightPx: number): unknown {
  const share = barShare(db);
  return html`<svg class="bar" width="24" height=${heightPx} aria-hidden="true">${hatches}
    ${share > 0 ? svg`<rect class=${fill} x="1" width="22" y=${percent(1 - share)} height=${percent(share)} />` : nothing}
    <line class="zero" x1="0" x2="24" y1=${heightPx} y2=${heightPx} />
    ${standingMark(marks.gestureDb, 'gesture')}${standingMark(marks.keptDb, 'kept')}</svg>`;
}

const percent = (share: number) => `${(100 * share).toFixed(2)}%`;

const hatches = svg`<defs><pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M2.5 0V5" /></pattern></defs>`;

function lyingMark(db: number | undefined, kind: 'gesture' | 'kept'): unknown {
  if (db === undefined || barShare(db) === 0) return nothing;
  const at = percent(barShare(db));
  return svg`<line class=${`mark ${kind}`} x1=${at} x2=${at} y1="0" y2="20" />`;
}

function standingMark(db: number | undefined, kind: 'gesture' | 'kept'): unknown {
  if (db === undefined || barShare(db) === 0) return nothing;
  const at = percent(1 - barShare(db));
  return svg`<line class=${`mark ${kind}`} x1="0" x2="24" y1=${at} y2=${at} />`;
}
