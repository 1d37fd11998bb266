import { css } from 'lit';

/** A blank sheet; boxes of one size in one place in every trial. */
export const blindSheetStyles = css`
  main { max-width: 46rem; min-height: 90vh; margin: 0 auto; padding: 24px 0; display: flex; flex-direction: column; gap: 16px; }
  h1 { font-size: 1.5rem; line-height: 2rem; width: fit-content; }
  h1:focus-visible { outline-offset: 6px; }
  .form { display: grid; grid-template-columns: minmax(0, 1fr); gap: 4px; border-block: 1px solid var(--edge); padding-block: 8px; }
  .form label { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 16px; align-items: baseline; min-height: 2rem; }
  .form input { width: 5rem; text-align: end; font-weight: 600; }
  .actions, .answers, .foot { display: flex; flex-wrap: wrap; gap: 8px 24px; align-items: center; }
  .question { margin-top: 8vh; }
  .count { min-height: 1.25rem; }
  .boxes { display: flex; gap: 16px; }
  .box { flex: 0 1 9rem; height: 7rem; min-width: 64px; border: 2px solid var(--ink); background: var(--sheet); text-align: center; font: 600 2rem/1 'STIX Two Text', 'Liberation Serif', serif; }
  .box[aria-pressed='true'] { box-shadow: inset 0 -6px 0 var(--pen); background: var(--wash); }
  .box:hover:not([disabled]) { text-decoration: none; }
  .answers button { min-width: 9rem; min-height: 3rem; font-weight: 600; }
  .answers span { font-weight: 400; }
  .answers button[aria-disabled='true'] { color: var(--pencil); cursor: default; text-decoration: none; }
  .excerpts { display: flex; flex-wrap: wrap; gap: 8px; }
  .excerpts button[aria-pressed='true'] { box-shadow: inset 0 -4px 0 var(--pen); background: var(--wash); }
  h2 { font-size: 1.125rem; line-height: 1.5rem; }
  .truth, .note { min-height: 1.25rem; }
  .foot { margin-top: auto; border-top: 1px solid var(--edge); padding-top: 12px; }
  table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
  caption { text-align: start; font-weight: 600; }
  th, td { text-align: start; padding: 2px 16px 2px 0; border-bottom: 1px solid var(--grid); font-weight: 400; }
  th { color: var(--pencil); }
  @media (max-width: 639px) { main { padding: 16px 0; } .answers button { min-width: 44px; flex: 1; } .question { margin-top: 2vh; } }
  @media (forced-colors: active) { .box[aria-pressed='true'] { border-style: double; border-width: 6px; } .excerpts button[aria-pressed='true'] { border-style: double; border-width: 4px; } }
`;
