/** Type, spacing and controls that every element shares, and the rules of the document itself. Colours come from the palette. */
import { css } from 'lit';
import { printedColours } from '../../documents/paper-style.ts';

/**
 * In px: widths at which the page changes its shape; the height under which the ledger docks at any width, since its nine rows
 * would run under the listening strip; the height under which the docks fold to one line.
 */
export const shapeLimits = { folded: 1120, docked: 1024, narrow: 640, ledgerHeight: 640, lowHeight: 560 } as const;

/** In px: widths from which the plate of a figure has room beside the stage (336 and 504 px), the ledger docked or beside both. */
export const besidePlatePx = { docked: 912, ledger: 1256 } as const;

/** The reader's own text size, as a multiple of the usual 16 px. */
export function textScale(): number {
  return Number.parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
}

/** For the document: what shadow roots inherit. `--docks` is measured by the root element, so that focus is never hidden. */
export const documentCss = `
html { color-scheme: light; background: var(--paper); color: var(--ink); scroll-padding: 8px 0 calc(var(--docks, 0px) + 8px); -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0; font: 400 0.875rem/1.25rem 'Source Sans 3', 'Liberation Sans', sans-serif; font-variant-numeric: tabular-nums lining-nums; }
@media (forced-colors: active) { html { background: Canvas; color: CanvasText; } }
@media print { :root, :root[data-look] { color-scheme: light; ${printedColours} } html { background: none; } }
`;

export const base = css`
  :host { display: block; box-sizing: border-box; min-width: 0; }
  :host([hidden]), [hidden] { display: none !important; }
  *, *::before, *::after { box-sizing: border-box; }
  h1, h2, h3, p, dl, dd, ul, ol { margin: 0; padding: 0; }
  h1, h2, h3 { font-family: 'STIX Two Text', 'Liberation Serif', serif; font-weight: 600; }
  h1, h2 { font-size: 1.125rem; line-height: 1.5rem; }
  h3 { font-size: 0.9375rem; line-height: 1.25rem; }
  button, select, input, textarea { font: inherit; color: inherit; letter-spacing: inherit; word-spacing: inherit; border-radius: 0; margin: 0; }
  button { background: none; border: 0; padding: 0; min-height: 24px; min-width: 24px; cursor: pointer; text-align: start; }
  button[disabled] { color: var(--pencil); cursor: default; }
  button:hover:not([disabled]) { text-decoration: underline; text-underline-offset: 3px; }
  :focus-visible { outline: 3px solid var(--pen); outline-offset: 2px; }
  /* The dotted rule stands close under the words, however tall the target is. */
  select { font-weight: 600; border: 0; background: repeating-linear-gradient(90deg, var(--pen) 0 1.5px, transparent 1.5px 3.5px) 0 calc(50% + 0.625rem) / 100% 1.5px no-repeat;
    appearance: none; field-sizing: content; padding: 0; min-height: 24px; min-width: 24px; max-width: 100%; text-overflow: ellipsis; cursor: pointer; }
  select option { background: var(--sheet); color: var(--ink); font-weight: 400; }
  input[type='text'], textarea { background: var(--sheet); border: 1px solid var(--edge); padding: 2px 6px; min-height: 28px; }
  input[type='checkbox'] { width: 18px; height: 18px; accent-color: var(--pen); }
  .boxed { border: 1px solid var(--edge); padding: 2px 10px; background: var(--sheet); }
  .note { font-size: 0.8125rem; line-height: 1.125rem; }
  .computed { color: var(--pencil); font-style: italic; }
  .pencil { color: var(--pencil); }
  .error { color: var(--madder); font-weight: 600; }
  .unseen { position: absolute; width: 1px; height: 1px; margin: -1px; padding: 0; overflow: hidden; clip-path: inset(50%); white-space: nowrap; border: 0; }
  @media (pointer: coarse) {
    button, select, input[type='text'], label.target { min-height: 44px; min-width: 44px; }
  }
  @media (forced-colors: active) {
    button[disabled] { color: GrayText; }
    select { border-bottom: 1.5px dotted LinkText; }
    :focus-visible { outline-color: Highlight; }
  }
  @media print { button { border: 0; } }
`;
