/** What every shelf shares: a framed section with a heading and a way to close it, and cards in a grid. */
import { css } from 'lit';

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
