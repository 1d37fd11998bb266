/** Look of a value: semibold on a dotted rule, a change bar at its left, words under it. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { textFace } from '../styles/type.ts';

export const valueEditorStyles = [base, css`
  :host { position: relative; display: inline-block; white-space: nowrap; font: 600 0.9375rem/1.25rem ${textFace}; }
  :host([changed])::before {
    content: ''; position: absolute; left: -6px; top: var(--change-bar-top, 2px); bottom: 2px; width: 2px; background: var(--ink);
    forced-color-adjust: none;
  }
  .value { display: inline-block; min-width: 32px; min-height: 24px; padding: 0 3px 3px; margin: 0 -3px; cursor: ew-resize; touch-action: pan-y; user-select: none; text-align: inherit; }
  /* Close round the figure, so that the designator above it stays legible. */
  .value:focus-visible, input.value:focus { outline: 3px solid var(--pen); outline-offset: var(--outline-offset, 2px); }
  .figure { text-decoration: underline dotted var(--pen) 2px; text-underline-offset: 4px; text-decoration-skip-ink: none; }
  .typing { display: inline-flex; gap: 4px; align-items: baseline; background: var(--sheet); position: relative; z-index: 2; }
  input[type='text'].value { border: 0; border-bottom: 2px dotted var(--pen); padding: 0 3px 1px; min-height: 24px; background: transparent; cursor: text; user-select: text; max-width: 100%; }
  .unit.dim { color: var(--pencil); font-weight: 400; text-decoration: line-through; }
  .lag { position: absolute; left: 100%; top: 1px; padding-left: 2px; color: var(--pencil); }
  .under {
    position: absolute; left: var(--under-left, 0); right: var(--under-right, auto); top: 100%; z-index: 3; width: max-content; max-width: min(var(--under-width, 300px), 80vw); white-space: normal;
    padding: 2px 8px; margin: 4px -3px 0; background: var(--sheet); border: 1px solid var(--edge); text-align: left; font-weight: 400;
  }
  .under:empty { display: none; }
  .under.error { border-inline-start: 3px solid var(--madder); }
  .kin { color: var(--pencil); font-style: italic; }
  select.value { border-bottom: 2px dotted var(--pen); cursor: pointer; padding: 0 16px 0 0; margin: 0;
    background: none; background-image: linear-gradient(45deg, transparent 50%, var(--ink) 50%), linear-gradient(-45deg, transparent 50%, var(--ink) 50%);
    background-size: 5px 5px; background-position: right 5px center, right 0 center; background-repeat: no-repeat;
  }
  option { color: var(--ink); background: var(--sheet); }
  :host([row]) .under { position: static; display: block; margin-inline: auto 0; }
  :host([row]) { white-space: normal; text-align: right; }
  @media (pointer: coarse) { .value, input[type='text'].value, select.value { min-width: 44px; min-height: 44px; padding-block: 10px 11px; } }
  @media print { .figure { text-decoration-style: solid; } }
`];
