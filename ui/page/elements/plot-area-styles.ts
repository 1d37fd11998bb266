/** Look of a plot: its paper, the cursor over it, the row of read-outs beneath. */
import { css } from 'lit';
import { base } from '../styles/base.ts';

export const plotAreaStyles = [base, css`
  :host { position: relative; }
  .sheet { position: relative; background: var(--sheet); padding: 4px 8px 6px; }
  svg { display: block; overflow: visible; }
  svg text.clear { paint-order: stroke; stroke: var(--sheet); stroke-width: 4px; stroke-linejoin: round; }
  .cursor-line { stroke: var(--pen); stroke-width: 1.5; }
  .cursor-point { fill: var(--sheet); stroke: var(--pen); stroke-width: 2; }
  .chosen-span { fill: var(--pen); fill-opacity: 0.12; stroke: var(--pen); stroke-width: 1.5; }
  .span-end { stroke: var(--pen); stroke-width: 1.5; stroke-dasharray: 4 3; }
  .cursor { position: absolute; inset: 0; cursor: crosshair; touch-action: pan-y; }
  .cursor.handled { cursor: ew-resize; }
  .readings { min-height: 2.5rem; padding-top: 4px; }
  .readings p { display: flex; flex-wrap: wrap; gap: 0 12px; }
  .readings .at { font-weight: 600; }
  .readings .chosen { text-decoration: underline; text-decoration-thickness: 2px; text-underline-offset: 3px; }
  @media (forced-colors: active) { .sheet { background: Canvas; } .chosen-span, .fine { fill: none !important; } }
`];
