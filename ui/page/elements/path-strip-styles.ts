/** Look of the path strip. */
import { css } from 'lit';
import { base } from '../styles/base.ts';

export const pathStripStyles = [base, css`
  .strip { display: flex; align-items: flex-start; }
  .end { flex: 0 0 96px; padding-top: 8px; display: flex; flex-direction: column; position: relative; }
  /* Both ends of the wire are terminals, as on the drawings. */
  .source::after, .load::before { content: ''; position: absolute; top: 20px; width: 8px; height: 8px; border: 2px solid var(--ink); border-radius: 50%; background: var(--paper); z-index: 1; }
  .source::after { right: -4px; }
  .load::before { left: -4px; }
  .load.apart::before { display: none; }
  .tail { flex: 1 1 0; width: 0; height: 48px; overflow: hidden; stroke: var(--ink); stroke-width: 1.5; fill: none; }
  .load { flex-basis: 104px; align-items: flex-end; margin-left: auto; padding-left: 8px; }
  .end button { display: flex; flex-direction: column; align-items: flex-start; min-width: 0; }
  .load button { align-items: flex-end; text-align: end; }
  .end-open { padding: 0 8px 0 0; line-height: 1.25rem; }
  .load .end-open { padding: 0 0 0 8px; }
  @media (pointer: coarse) { .end .end-open { min-width: 44px; } }
  .end-open { position: relative; } .end-open .unseen { margin: 0; right: 0; }
  .end .ohms { font-weight: 600; background: repeating-linear-gradient(90deg, var(--pen) 0 1.5px, transparent 1.5px 3.5px) 0 100% / 100% 1.5px no-repeat; }
  .end .current { background: var(--wash); box-shadow: inset 0 -3px var(--pen); }
  .end .sheet, .load .edit { display: block; margin-top: 4px; font-size: 0.8125rem; line-height: 1.125rem; }
  .row .current { background: var(--wash); box-shadow: inset 0 -3px var(--pen); }
  .edit::before { content: '+'; display: inline-block; width: 12px; text-align: start; font-weight: 600; }
  .edit[aria-expanded='true']::before { content: '−'; }
  ol { list-style: none; }
  .strip ol { flex: 0 1 auto; display: grid; grid-template-columns: repeat(var(--line), var(--cell)); row-gap: 4px; min-width: 0; }
  .cell { min-width: 0; display: flex; flex-direction: column; padding-bottom: 3px; position: relative; }
  .cell.current { background: var(--wash); padding-bottom: 0; border-bottom: 3px solid var(--pen); }
  .cell button { width: 100%; text-align: center; min-width: 0; }
  .cell .open { display: block; }
  .title { display: block; font-weight: 600; font-size: 0.8125rem; line-height: 1.125rem; overflow-wrap: anywhere; }
  .switch { font-size: 0.8125rem; line-height: 1.125rem; color: var(--pencil); min-height: 24px; }
  /* Joined to the stage before: one circuit, so a junction's dot where the wires meet. */
  .joined > .open::before { content: ''; position: absolute; left: -4px; top: 20px; width: 8px; height: 8px; border-radius: 50%; background: var(--ink); z-index: 1; }
  /* Where the wire goes on to the next line: a chevron at the edge. */
  .goes-on::after, .comes-on::before {
    content: ''; position: absolute; top: 20px; width: 8px; height: 8px; border: solid var(--ink); border-width: 1.5px 1.5px 0 0; transform: rotate(45deg);
  }
  .goes-on::after { right: 0; }
  .comes-on::before { left: 0; }
  /* A stage is dragged sideways; up and down the page still scrolls. */
  .cell .open, .cells button { touch-action: pan-y; user-select: none; -webkit-user-select: none; }
  .lifted { outline: 2px dashed var(--pen); outline-offset: -2px; }
  .cells li { position: relative; }
  .drop-before::before, .drop-after::after { content: ''; position: absolute; top: 0; bottom: 0; width: 0; height: auto; border: solid var(--pen); border-width: 0 0 0 4px; transform: none; z-index: 2; }
  .drop-before::before { left: -2px; right: auto; }
  .drop-after::after { right: -2px; left: auto; }
  .notice { padding: 4px 0; }
  .row { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; min-height: 28px; }
  .spacer { flex: 1; }
  .cells { display: flex; flex-wrap: wrap; }
  .cells li { flex: 1 0 35px; max-width: 72px; border-bottom: 2px solid var(--ink); }
  .cells li:has(.struck) { border-bottom-style: dashed; }
  .cells li.current { background: var(--wash); border-bottom: 4px solid var(--pen); }
  .cells li.current:has(.struck) { border-bottom-style: dashed; }
  .cells button { width: 100%; min-width: 35px; height: 40px; min-height: 40px; text-align: center; font-weight: 600; }
  .cells .struck { text-decoration: line-through 2px; font-weight: 400; }
  .list li { display: flex; align-items: center; gap: 16px; border-bottom: 1px solid var(--grid); min-height: 44px; }
  .list li.current { background: var(--wash); border-left: 3px solid var(--pen); }
  .list .open { flex: 1; min-height: 44px; padding: 0 8px; }
  .list .switch { min-width: 96px; min-height: 44px; }
  @media (pointer: coarse) { .cell .switch { min-height: 44px; } }
`];
