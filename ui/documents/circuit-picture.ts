/** A stage's circuit as a picture with its designators, values and node voltages in it. Pure. */
import { headingOf, writeValue } from '../../dsp/path/index.ts';
import { gridPx, type Drawing, type Parameter, type Placement, type Point, type StageValues } from '../../dsp/stages/index.ts';
import { placementTransform, symbolStrokes, weightPx, type Stroke } from '../drawing/symbols.ts';
import { junctionDots } from '../drawing/wire-groups.ts';
import { markup, type Markup } from './markup.ts';
import { writeVolts } from './value-words.ts';

/** Px from the baseline of the designator to that of the value. */
const valueBelowPx = 18;
/** Round the drawing, for what stands at its edge. */
const marginPx = 8;

export interface CircuitPicture {
  readonly drawing: Drawing;
  /** "2 Push-pull stage" */
  readonly name: string;
  readonly parameters: readonly Parameter[];
  readonly values: StageValues;
  readonly nodeVolts: Readonly<Record<string, number>>;
}

/** Classes: wire, stroke, filled, designator, value, changed, reading. */
export function circuitPicture({ drawing, name, parameters, values, nodeVolts }: CircuitPicture): Markup {
  const width = drawing.width * gridPx;
  const height = drawing.height * gridPx;
  return markup`<svg class="circuit" xmlns="http://www.w3.org/2000/svg" width="${width + 2 * marginPx}" height="${height + 2 * marginPx}" viewBox="${-marginPx} ${-marginPx} ${width + 2 * marginPx} ${height + 2 * marginPx}" role="img" aria-label="Circuit of ${name}; its values stand in the table">
${drawing.wires.map((wire) => markup`<polyline class="wire" points="${wire.map(([x, y]) => `${x * gridPx},${y * gridPx}`).join(' ')}"/>`)}
${drawing.placements.map(symbol)}
${junctionDots(drawing).map(([x, y]) => markup`<circle class="filled" cx="${x * gridPx}" cy="${y * gridPx}" r="3"/>`)}
${wordsOn(drawing, parameters, values)}
${drawing.nodeReadings.map(({ node, at }) => (nodeVolts[node] === undefined ? null : word(at, writeVolts(nodeVolts[node]), 'reading')))}
</svg>`;
}

function wordsOn(drawing: Drawing, parameters: readonly Parameter[], values: StageValues): Markup[] {
  const places = new Map<string, Point>();
  for (const { parameter, label } of drawing.placements) if (parameter !== undefined && label) places.set(parameter, label);
  for (const { parameter, at } of drawing.values) places.set(parameter, at);
  const valued = parameters.flatMap((parameter) => {
    const at = places.get(parameter.id);
    if (!at) return [];
    const value = values[parameter.id] ?? parameter.default;
    return [word(at, headingOf(parameter), 'designator'), word(at, writeValue(value, parameter), value === parameter.default ? 'value' : 'value changed', valueBelowPx)];
  });
  const plain = drawing.placements.flatMap(({ component, parameter, label }) => (label && component !== undefined && parameter === undefined ? [word(label, component, 'designator')] : []));
  return [...valued, ...plain];
}

function symbol(placement: Placement): Markup {
  return markup`<g transform="${placementTransform(placement)}">${symbolStrokes[placement.symbol].map(stroke)}</g>`;
}

/** A closed hollow shape hides the wire that runs through its place. */
function stroke({ path, weight, filled, dashed }: Stroke): Markup {
  const kind = filled ? 'filled' : path.endsWith('Z') ? 'stroke hollow' : 'stroke';
  return markup`<path class="${kind}" d="${path}" stroke-width="${weightPx[weight]}"${dashed ? markup` stroke-dasharray="5 3"` : null}/>`;
}

function word([x, y]: Point, text: string, kind: string, belowPx = 0): Markup {
  return markup`<text class="${kind}" x="${x * gridPx}" y="${y * gridPx + belowPx}">${text}</text>`;
}
