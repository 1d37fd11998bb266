/** Where a fault is circled: at the component or node it names. Pure. */
import type { CircuitDocument } from '../../../dsp/circuit/index.ts';
import { drawnComponent } from '../../../dsp/stages/drawing.ts';
import type { Drawing, Point } from '../../../dsp/stages/drawing.ts';
import { pointOfNode } from '../../drawing/wire-groups.ts';

/** Every text in a component but its name and kind: among them, the nodes it touches. */
function wordsOf(component: object): string[] {
  return Object.entries(component).flatMap(([field, value]) => (
    field === 'name' || field === 'kind' ? [] : Array.isArray(value) ? value.filter((word) => typeof word === 'string') : typeof value === 'string' ? [value] : []));
}

/** Point of the sheet (grid units) to circle; null when the fault names nothing that is drawn. */
export function faultPlace(drawing: Drawing, document: CircuitDocument | null, at: string | null): Point | null {
  if (at === null) return null;
  const placement = drawing.placements.find(({ component }) => component === drawnComponent(drawing.placements, at));
  if (placement) return placement.at;
  const touching = document?.components.filter((component) => wordsOf(component).includes(at)).map(({ name }) => drawnComponent(drawing.placements, name)) ?? [];
  return pointOfNode(drawing, touching) ?? drawing.nodeReadings.find(({ node }) => node === at)?.at ?? null;
}
