/** Where the regions stand. The page scrolls as one document under docks fixed to its lower edge. */
import { css } from 'lit';

export const layout = css`
  :host { --pad: 24px; display: flex; flex-direction: column; min-height: 100dvh; padding: 0 var(--pad) var(--docks, 0px); }
  :host([shape='narrow']) { --pad: 16px; }
  title-line { min-height: 2.5rem; flex: none; }
  nav { min-height: 6.5rem; padding-top: 8px; border-bottom: 1px solid var(--edge); flex: none; }
  :host([shape='narrow']) nav { min-height: 4.25rem; padding-top: 0; }

  /* Wide: margin 200, stage 664, ledger 320; the margin's own length never makes the row longer. */
  .main { flex: 1 0 auto; display: grid; gap: 0 24px; grid-template: 'margin stage ledger' minmax(0, auto) / 12.5rem minmax(0, 1fr) 20rem; }
  main { grid-area: stage; min-width: 0; padding: 8px 0 0; }
  @media (min-width: 90em) { :host([shape='wide']) .main { grid-template-columns: 12.5rem minmax(0, 1fr) 26.25rem; } }
  .ledger { grid-area: ledger; min-width: 0; padding: 8px 0; align-self: start; position: sticky; top: 0; }
  margin-column { grid-area: margin; position: relative; border-inline-end: 3px double var(--madder); }

  :host([shape='folded']) .main { grid-template: 'margin ledger' auto 'stage ledger' 1fr / minmax(0, 1fr) 20rem; }
  :host([shape='folded']) margin-column, :host([shape='docked']) margin-column, :host([shape='narrow']) margin-column { border: 0; padding: 4px 0; }

  /* Docked and narrow: one column; the ledger is fixed above the listening strip. */
  :host([shape='docked']) .main, :host([shape='narrow']) .main { display: flex; flex-direction: column; gap: 0; }
  :host([shape='docked']) margin-column, :host([shape='narrow']) margin-column { order: -1; }
  :host([shape='docked']) main, :host([shape='narrow']) main { flex: 1 0 auto; padding: 8px 0; }
  :host([shape='docked']) .ledger, :host([shape='narrow']) .ledger { position: fixed; inset: auto var(--pad) var(--dock, 0px); z-index: 1; background: var(--paper); padding: 4px 0; border-top: 1px solid var(--edge);
    /* Opened on a low page it would be taller than the page. */
    max-height: calc(100dvh - var(--dock, 0px)); overflow-y: auto; }

  /* Beside the stage, which is 336 px then, or in its place. */
  figure-plate { grid-area: plate; padding: 8px 0; align-self: start; }
  :host([plate='beside'][shape='folded']) .main { grid-template: 'margin margin ledger' auto 'stage plate ledger' 1fr / 21rem minmax(0, 1fr) 20rem; }
  :host([plate='beside'][shape='docked']) .main { display: grid; grid-template: 'margin margin' auto 'stage plate' 1fr / 21rem minmax(0, 1fr); gap: 0 24px; }
  :host([plate='beside']) figure-plate { position: sticky; top: 0; max-height: calc(100dvh - var(--docks, 0px)); overflow-y: auto; scroll-padding: 44px 0 8px; scrollbar-width: thin; scrollbar-color: var(--edge) transparent; padding-inline: 3px; margin-inline: -3px; }

  .dock { position: fixed; inset: auto 0 0; padding: 0 var(--pad); z-index: 2; background: var(--paper); }

  @media (forced-colors: active) { .dock, .ledger { background: Canvas; } }
  @media print {
    :host { min-height: 0; padding-bottom: 0; }
    .dock, .ledger { position: static !important; }
  }
`;
