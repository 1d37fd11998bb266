/** Look of a plate: number and title as on a drawn plate, the sheet with the plot, the sentence under it. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { titleFace } from '../styles/type.ts';

export const figurePlateStyles = [base, css`
  section { display: flex; flex-direction: column; gap: 4px; }
  .heading { display: flex; flex-wrap: wrap; align-items: center; gap: 0 12px; min-height: 28px; }
  /* Beside the stage a long plate scrolls under its heading. */
  :host(:not([alone])) .heading { position: sticky; top: 0; z-index: 2; background: var(--paper); padding-bottom: 2px; }
  .heading h2 { white-space: nowrap; font-style: italic; font-weight: 400; }
  .heading select { font: 600 1.125rem/1.5rem ${titleFace}; min-width: 0; flex: 0 1 auto; }
  .heading button { text-align: center; }
  .heading [aria-disabled='true'] { color: var(--pencil); }
  .spacer { flex: 1; }
  .progress { white-space: nowrap; }
  .blank { height: 18rem; background: var(--sheet); }
  .caption { font: italic 400 0.9375rem/1.25rem ${titleFace}; max-width: 44rem; }
  .sentence { margin: 4px 0; max-width: 44rem; }
  .tools { display: flex; flex-wrap: wrap; align-items: center; gap: 0 16px; }
  .exports { display: inline-flex; align-items: center; gap: 12px; }
  .disclosure { display: flex; align-items: center; gap: 8px; width: 100%; border-top: 1px solid var(--edge); margin-top: 4px; padding-top: 4px; }
  .disclosure::before { content: '+'; font-weight: 600; width: 12px; }
  .disclosure[aria-expanded='true']::before { content: '−'; }
  .remark { color: var(--pencil); max-width: 48rem; }
  @media (forced-colors: active) { .heading { background: Canvas; } }
  @media (pointer: coarse) { .disclosure { min-height: 44px; } }
  @media print { .tools, .disclosure, .heading button { display: none; } }
`];
