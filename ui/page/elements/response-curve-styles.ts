/** Look of what stands round a response curve: its sentence and its table. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { titleFace } from '../styles/type.ts';

export const responseCurveStyles = [base, css`
  :host { position: relative; }
  figure { margin: 0; }
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
`];
