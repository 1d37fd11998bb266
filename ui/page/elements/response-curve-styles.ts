/** Look of a response curve: the whole bold, parts thin, the ideal dashed, a difference dotted; no line is told by its colour alone. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { titleFace } from '../styles/type.ts';

export const responseCurveStyles = [base, css`
  :host { position: relative; }
  figure { margin: 0; }
  .sheet { position: relative; background: var(--sheet); }
  svg { display: block; width: 100%; }
  .grid { stroke: var(--grid); stroke-width: 1; }
  .zero { stroke: var(--edge); stroke-width: 1; }
  .axis { font-size: 13px; fill: var(--pencil); }
  .trace { fill: none; stroke: var(--ink); stroke-linejoin: round; }
  .whole { stroke-width: 3; }
  .part { stroke-width: 1.5; stroke: var(--pencil); }
  .ideal { stroke-width: 1.5; stroke-dasharray: 7 4; }
  .difference { stroke-width: 1.5; stroke-dasharray: 2 3; }
  .mark { stroke: var(--pen); stroke-width: 2; fill: none; }
  .mark.point { fill: var(--sheet); }
  .words { font: italic 400 13px ${titleFace}; fill: var(--ink); paint-order: stroke; stroke: var(--sheet); stroke-width: 4; }
  .fine { fill: var(--wash); }
  .thirds { fill: none; stroke: var(--edge); stroke-width: 1; }
  .partial { stroke: var(--pencil); stroke-width: 1.5; }
  .partial.within { stroke: var(--pen); stroke-width: 3; }
  .cursor-line { stroke: var(--pen); stroke-width: 1.5; }
  .cursor { position: absolute; inset: 0; cursor: crosshair; touch-action: pan-y; }
  .cursor.sweeping { cursor: ew-resize; }
  figcaption { margin-top: 4px; min-height: 1.125rem; }
  details { margin-top: 4px; }
  summary { cursor: pointer; min-height: 24px; }
  .scroller { overflow-x: auto; }
  table { border-collapse: collapse; margin-top: 4px; }
  th, td { padding: 0 12px 0 0; text-align: end; white-space: nowrap; }
  thead th { font: italic 400 0.8125rem/1.125rem ${titleFace}; color: var(--pencil); border-bottom: 1px solid var(--edge); }
  tbody th { font-weight: 400; }
  tbody tr { border-bottom: 1px solid var(--grid); }
  td.words-cell, th.words-cell { text-align: start; }
  @media (pointer: coarse) { summary { min-height: 44px; display: flex; align-items: center; } }
  @media (forced-colors: active) { .fine { fill: none; } .words { stroke: Canvas; } }
`];
