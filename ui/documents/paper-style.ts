/** What every document that leaves the bench looks like, on a screen and on paper: a sheet of black on white when printed. */
import { palette } from '../plot/index.ts';

/** Paper is light, whatever the screen was. */
export const printedColours = Object.entries(palette).map(([name, { light: [lightness, chroma, hue] }]) => `--${name}: oklch(${lightness} ${chroma} ${hue});`).join(' ');

/** Of what stands on the sheet; for a page of its own and for a shadow tree. */
export const sheetCss = `
h1, h2, h3 { font-family: 'STIX Two Text', 'Liberation Serif', serif; font-weight: 600; line-height: 1.3; margin: 0; }
h1 { font-size: 1.75rem; } h2 { font-size: 1.25rem; margin-top: 28px; } h3 { font-size: 1.0625rem; margin-top: 20px; }
p { margin: 8px 0; }
.note { font-size: 0.875rem; line-height: 1.25rem; color: var(--pencil); }
.caution { border-left: 3px solid var(--madder); padding-left: 12px; }
.unseen { position: absolute; width: 1px; height: 1px; margin: -1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; margin: 8px 0; font-size: 0.9375rem; line-height: 1.25rem; }
caption { text-align: left; padding-bottom: 4px; font-size: 0.875rem; color: var(--pencil); }
th, td { text-align: left; vertical-align: top; padding: 3px 14px 3px 0; border-bottom: 1px solid var(--grid); font-weight: 400; }
thead th { border-bottom-color: var(--ink); font-weight: 600; }
td.figure, th.figure { text-align: right; white-space: nowrap; }
.changed { font-weight: 600; }
code { font-size: 0.8125rem; overflow-wrap: anywhere; }
a { color: var(--pen); }
:focus-visible { outline: 3px solid var(--pen); outline-offset: 2px; }
@media (forced-colors: active) { th, td { border-color: CanvasText; } }
@media print {
  h1, h2, h3, caption { break-after: avoid; } tr, .caution, table.harmonics { break-inside: avoid; } .wide { overflow: visible; }
  a { color: inherit; }
}
`;

/** A whole page. */
export const paperCss = `
*, *::before, *::after { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0 auto; max-width: 48rem; padding: 24px 16px 48px; font: 400 1rem/1.5rem 'Source Sans 3', 'Liberation Sans', sans-serif; font-variant-numeric: tabular-nums lining-nums; overflow-wrap: break-word; }
${sheetCss}
@page { margin: 16mm; }
@media (forced-colors: active) { html { background: Canvas; color: CanvasText; } }
@media print {
  :root, :root[data-look] { color-scheme: light; ${printedColours} --ink: black; --pencil: black; --sheet: white; --paper: white; }
  html { background: none; } body { max-width: none; padding: 0; font-size: 10.5pt; line-height: 1.4; }
}
`;
