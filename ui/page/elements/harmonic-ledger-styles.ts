/** Look of the harmonic ledger. Bars are drawn without easing. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { titleFace } from '../styles/type.ts';

export const harmonicLedgerStyles = [base, css`
  .row { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; }
  .spacer { flex: 1; }
  table { width: 100%; border-collapse: collapse; table-layout: fixed; }
  thead th { font: italic 400 0.8125rem/1.125rem ${titleFace}; color: var(--pencil); text-align: start; padding: 4px 4px 4px 0; border-bottom: 1px solid var(--edge); }
  tbody th { font-weight: 600; text-align: start; }
  /* Columns keep their places whatever the figures; the bars take the rest. */
  th.order { width: 2.125rem; } th.db { width: 3.375rem; } th.percent { width: 4.5rem; } th.phase { width: 4.75rem; }
  tbody tr { height: 28px; border-bottom: 1px solid var(--grid); }
  td, th { padding: 0 4px 0 0; white-space: nowrap; }
  th.figure, td.figure { text-align: end; padding-left: 4px; }
  /* The words of the floor stand over the bar's place, where there is no bar, and leave the columns alone. */
  td.db { position: relative; }
  .floor { position: absolute; inset: 0 4px 0 auto; display: flex; align-items: center; }
  .word { font: italic 400 0.8125rem/1.125rem ${titleFace}; text-align: end; width: 40px; padding-right: 0; }
  .bar { display: block; }
  td .bar { width: 100%; }
  .solid { fill: var(--ink); stroke: var(--ink); stroke-width: 1.5; }
  .outline { fill: none; stroke: var(--ink); stroke-width: 1.5; }
  .hatched { fill: url(#hatch); stroke: var(--ink); stroke-width: 1.5; }
  .hatch { stroke: var(--ink); stroke-width: 1.5; }
  .zero { stroke: var(--edge); stroke-width: 1; }
  .mark { stroke: var(--pen); stroke-width: 3; }
  .mark.kept { stroke-dasharray: 3 2; stroke: var(--madder); }
  .sums { margin-top: 8px; }
  .words { font-style: italic; }
  .standing { list-style: none; display: flex; justify-content: space-between; }
  .standing li { flex: 1 1 0; display: flex; flex-direction: column; align-items: center; font-size: 0.8125rem; line-height: 1rem; min-width: 0; }
  .tools { gap: 0 16px; }
  .fold { flex-wrap: nowrap; gap: 0 8px; }
  .fold .words { flex: 1 1 auto; min-width: 0; }
`];
