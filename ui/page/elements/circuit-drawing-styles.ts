/** Look of a circuit drawing. */
import { css } from 'lit';
import { base } from '../styles/base.ts';
import { textFace, titleFace } from '../styles/type.ts';

export const circuitDrawingStyles = [base, css`
  :host { display: block; }
  .sheet { position: relative; background: var(--sheet); }
  svg { display: block; width: 100%; height: 100%; overflow: visible; }
  .ground { fill: var(--sheet); }
  .square { fill: none; stroke: var(--grid); stroke-width: 1; }
  .wire { fill: none; stroke: var(--ink); stroke-width: 1.5; }
  .stroke { fill: none; stroke: var(--ink); stroke-linejoin: miter; }
  .filled, .dot { fill: var(--ink); stroke: none; }
  /* A hollow symbol hides the wire that runs through its place. */
  .symbol .stroke[d$='Z'] { fill: var(--sheet); }
  text { font: italic 400 0.8125rem/1.125rem ${titleFace}; fill: var(--pencil); }
  text.reading { font-family: ${textFace}; }
  .fault-mark { fill: none; stroke: var(--madder); stroke-width: 3; }
  .touch { fill: transparent; cursor: pointer; }
  /* The value's baseline stands on the place's point: 15 px below the top of its line (and 10 of padding where the pointer is coarse). */
  .place { position: absolute; height: 0; }
  .place value-editor { position: absolute; left: 0; top: -15px; --outline-offset: -1px; }
  .place.end value-editor { --under-left: auto; --under-right: 0; }
  @media (pointer: coarse) { .place value-editor { top: -25px; } }
  value-editor { --change-bar-top: -15px; }
`];
