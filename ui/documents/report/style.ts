/** Look of a report beyond that of every document: its drawings, and where its pages break. */
export const reportCss = `
.identity th { white-space: nowrap; }
.picture { overflow-x: auto; margin: 12px 0; }
svg.circuit { display: block; max-width: 100%; height: auto; }
svg.circuit .wire { fill: none; stroke: var(--ink); stroke-width: 1.5; }
svg.circuit .stroke { fill: none; stroke: var(--ink); }
svg.circuit .hollow { fill: var(--sheet); }
svg.circuit .filled { fill: var(--ink); stroke: none; }
svg.circuit text { fill: var(--ink); font: 600 15px 'Source Sans 3', 'Liberation Sans', sans-serif; }
svg.circuit text.designator { fill: var(--pencil); font: italic 400 13px 'STIX Two Text', 'Liberation Serif', serif; }
svg.circuit text.reading { fill: var(--pencil); font: italic 400 13px 'Source Sans 3', 'Liberation Sans', sans-serif; }
svg.circuit text.changed { text-decoration: underline; }
figure { margin: 16px 0; }
figure svg { display: block; max-width: 100%; height: auto; }
@media print {
  .picture { overflow: visible; break-inside: avoid; }
  svg.circuit { max-height: 110mm; width: auto; }
  figure, .kept { break-inside: avoid; }
  .stage ~ .stage { break-before: page; }
  figure svg { max-height: 200mm; width: auto; }
}
`;
