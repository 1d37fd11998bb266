/** What every shelf shares: a framed section with a heading and a way to close it, and cards in a grid. */
import { css } from 'lit';

/** What is in a card of a shelf: its parts one under the other. */
export const panelStyles = css`
  :host { display: flex; flex-direction: column; gap: 6px; align-items: stretch; width: 100%; }
  h4 { margin: 6px 0 0; font-size: 0.875rem; line-height: 1.25rem; }
  p, dl, li { font-size: 0.8125rem; line-height: 1.125rem; }
  .buttons { display: flex; flex-wrap: wrap; gap: 8px; align-items: center; }
  .caution { border-inline-start: 3px double var(--madder); padding-inline-start: 8px; }
`;

export const shelfStyles = css`
  section { border: 1px solid var(--edge); background: var(--sheet); padding: 16px 24px; margin-block: 16px; }
  :host([shape='narrow']) section { padding: 12px 16px; }
  .head { display: flex; justify-content: space-between; align-items: baseline; gap: 16px; }
  .cards { list-style: none; display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 22rem), 1fr)); gap: 16px 32px; margin-top: 8px; }
  .cards > li { border-top: 1px solid var(--edge); padding-top: 8px; display: flex; flex-direction: column; gap: 4px; align-items: flex-start; }
  /* Cards of very different height. */
  .cards.packed { display: block; columns: 22rem; column-gap: 32px; }
  .cards.packed > li { break-inside: avoid; margin-bottom: 16px; }
  .cards p { font-size: 0.8125rem; line-height: 1.125rem; }
  @media (forced-colors: active) { section { background: Canvas; } }
`;
