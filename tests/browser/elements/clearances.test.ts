import { describe, expect, it } from 'vitest';
import { surroundings } from '../../../dsp/path/index.ts';
import { defaultValues, gridPx, stages } from '../../../dsp/stages/index.ts';
import type { Drawing, Parameter } from '../../../dsp/stages/index.ts';
import type { CircuitDrawing } from '../../../ui/page/elements/circuit-drawing.ts';
import '../../../ui/page/elements/circuit-drawing.ts';
import { emptyValueContext } from '../../../ui/page/elements/value-context.ts';
import { everyElement, mount } from './stage.ts';

/** px between any two labels, and between a label and any stroke. */
const clearancePx = 8;

interface Box { readonly name: string; readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }

/** The longest a value can be written with four digits and a prefix. */
function longest(parameter: Parameter): string {
  if (parameter.kind === 'choice') return parameter.options.reduce((most, { label }) => (label.length > most.length ? label : most), '');
  return parameter.unit === '' ? '0.0009999' : `999.9 M${parameter.unit}`;
}

/** Designator over value, as one box: from the top of its capitals to its dotted rule; readings from their figures' top to the baseline. */
function labelBoxes(element: CircuitDrawing): Box[] {
  const origin = element.renderRoot.querySelector('.sheet')!.getBoundingClientRect();
  const boxes = new Map<string, Box>();
  for (const text of element.renderRoot.querySelectorAll<SVGTextElement>('text')) {
    const { left, right } = text.getBoundingClientRect();
    const baseline = Number(text.getAttribute('y'));
    const name = `${text.classList[0]} ${text.dataset['of'] ?? text.textContent}`;
    boxes.set(text.dataset['of'] ?? text.textContent!, { name, left: left - origin.left, right: right - origin.left, top: baseline - 9.5, bottom: baseline + 1 });
  }
  for (const editor of element.renderRoot.querySelectorAll('value-editor')) {
    const figure = editor.renderRoot.querySelector('.figure') ?? editor.renderRoot.querySelector('select')!;
    const { left, right } = figure.getBoundingClientRect();
    const above = boxes.get(editor.parameter.id)!;
    boxes.set(editor.parameter.id, { ...above, left: Math.min(above.left, left - origin.left), right: Math.max(above.right, right - origin.left), bottom: above.bottom - 1 + 18 + 6 });
  }
  return [...boxes.values()];
}

/** Points along the middle of every stroke, 1 px apart: a line lies where its data says, on the grid of 8 px. */
function strokePoints(element: CircuitDrawing): { x: number; y: number }[] {
  const origin = element.renderRoot.querySelector('.sheet')!.getBoundingClientRect();
  return [...element.renderRoot.querySelectorAll<SVGGeometryElement>('.wire, .symbol path, .dot')].flatMap((shape) => {
    const toScreen = shape.getScreenCTM()!;
    const count = Math.max(1, Math.ceil(shape.getTotalLength()));
    return Array.from({ length: count + 1 }, (_, index) => {
      const point = shape.getPointAtLength(index / count * shape.getTotalLength()).matrixTransform(toScreen);
      return { x: point.x - origin.left, y: point.y - origin.top };
    });
  });
}

const outside = (from: number, to: number, low: number, high: number) => Math.max(0, low - to, from - high);

function gap(a: Box, b: Box): number {
  return Math.hypot(outside(a.left, a.right, b.left, b.right), outside(a.top, a.bottom, b.top, b.bottom));
}

function gapToStroke(box: Box, { x, y }: { x: number; y: number }): number {
  return Math.hypot(outside(x, x, box.left, box.right), outside(y, y, box.top, box.bottom));
}

async function drawn(drawing: Drawing, parameters: readonly Parameter[]): Promise<CircuitDrawing> {
  const nodeVolts = Object.fromEntries(drawing.nodeReadings.map(({ node }) => [node, -188.8]));
  const values = Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.default]));
  const { element } = await mount<CircuitDrawing>('circuit-drawing', { drawing, parameters, nodeVolts, context: { ...emptyValueContext, values } });
  for (const editor of element.renderRoot.querySelectorAll('value-editor')) {
    const figure = editor.renderRoot.querySelector('.figure');
    if (figure) figure.textContent = longest(editor.parameter);
  }
  return element;
}

/** Everything nearer than it may be, in words. */
function tooNear(element: CircuitDrawing): string[] {
  const boxes = labelBoxes(element);
  const strokes = strokePoints(element);
  expect(boxes.length).toBeGreaterThan(0);
  expect(strokes.length).toBeGreaterThan(100);
  const labels = boxes.flatMap((a, index) => boxes.slice(index + 1).flatMap((b) => (gap(a, b) >= clearancePx ? [] : [`${a.name} to ${b.name}: ${gap(a, b).toFixed(1)} px`])));
  const lines = boxes.flatMap((box) => {
    const nearest = strokes.reduce((least, point) => (gapToStroke(box, point) < gapToStroke(box, least) ? point : least));
    const px = gapToStroke(box, nearest);
    return px >= clearancePx ? [] : [`${box.name} to a stroke at ${nearest.x.toFixed(0)}, ${nearest.y.toFixed(0)}: ${px.toFixed(1)} px`];
  });
  return [...labels, ...lines];
}

/** Every sheet a stage shows: at its defaults, and with each choice made otherwise where that changes what is wired; and the sheets of a path. */
const cases = [
  ...stages.filter(({ drawing }) => drawing !== null).flatMap((stage) => {
    const values = defaultValues(stage);
    const ways = stage.drawingFor === undefined ? [] : stage.parameters.flatMap((parameter) => (parameter.kind !== 'choice' ? [] : parameter.options.map(({ id }) => (
      { name: `${stage.id}, ${parameter.id} ${id}`, drawing: stage.drawingFor!({ ...values, [parameter.id]: id }), parameters: stage.parameters }))));
    const all = [{ name: stage.id, drawing: stage.drawing!, parameters: stage.parameters }, ...ways];
    return all.filter(({ drawing }, index) => all.findIndex((other) => JSON.stringify(other.drawing) === JSON.stringify(drawing)) === index);
  }),
  { name: 'surroundings', drawing: surroundings.drawing!, parameters: surroundings.parameters },
];

describe.each(cases.map((each) => [each.name, each] as const))('%s', (_, { drawing, parameters }) => {

  it('keeps its labels 8 px from one another and from every stroke, each value at its longest', async () => {
    expect(tooNear(await drawn(drawing, parameters))).toEqual([]);
  });

  it('stays on its sheet, which is at most 640 by 440 px', async () => {
    const element = await drawn(drawing, parameters);
    expect(drawing.width * gridPx).toBeLessThanOrEqual(640);
    expect(drawing.height * gridPx).toBeLessThanOrEqual(440);
    for (const box of labelBoxes(element)) {
      expect(box.left >= 0 && box.right <= drawing.width * gridPx && box.top >= 0 && box.bottom <= drawing.height * gridPx, JSON.stringify(box)).toBe(true);
    }
  });

  it('gives each value a box of 32 by 24 px to hit, none over another', async () => {
    const element = await drawn(drawing, parameters);
    const boxes = [...everyElement(element.shadowRoot!)].filter((each) => each.matches('.value')).map((each) => each.getBoundingClientRect());
    expect(boxes.length).toBe(parameters.filter(({ id }) => drawing.placements.some(({ parameter }) => parameter === id) || drawing.values.some(({ parameter }) => parameter === id)).length);
    for (const [index, a] of boxes.entries()) {
      expect(a.width >= 32 && a.height >= 24, `${a.width} × ${a.height}`).toBe(true);
      for (const b of boxes.slice(index + 1)) expect(a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top).toBe(true);
    }
  });
});

describe('the measure of clearances', () => {
  it('finds a value that stands on a wire and two labels that touch', async () => {
    const stage = stages.find(({ drawing }) => drawing !== null)!;
    const drawing = stage.drawing!;
    const labelled = drawing.placements.filter(({ parameter, label }) => parameter !== undefined && label);
    const [first, second] = labelled;
    const crowded: Drawing = { ...drawing, placements: drawing.placements.map((each) => (each === first ? { ...each, label: [second!.label![0], second!.label![1] + 1] as const } : each)),
      wires: [...drawing.wires, [second!.label!, [second!.label![0] + 5, second!.label![1]]]] };
    const found = tooNear(await drawn(crowded, stage.parameters));
    expect(found.some((words) => words.includes(` to designator ${second!.parameter}`) || words.includes(`${second!.parameter} to designator`))).toBe(true);
    expect(found.some((words) => words.startsWith(`designator ${second!.parameter} to a stroke`))).toBe(true);
  });
});
