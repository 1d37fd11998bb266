/** The sign of a stage: a fragment of its own drawing, or the curve it applies when it is no circuit. Pure data for 48 × 32 px. */
import type { StageDefinition } from '../../../dsp/stages/contract.ts';
import type { SymbolName } from '../../../dsp/stages/drawing.ts';
import { deviceSymbols, symbolStrokes } from '../../drawing/symbols.ts';
import type { Stroke } from '../../drawing/symbols.ts';

export interface SignPart {
  /** SVG transform inside the sign's box. */
  readonly transform: string;
  readonly strokes: readonly Stroke[];
}

const signHeightPx = 32;

/** A transfer curve that bends. */
const curve: SignPart = { transform: 'translate(24 16)', strokes: [{ path: 'M-18 11C-7 10 -5 5 0 0S7 -10 18 -11', weight: 'symbol' }] };

const line = (path: string): Stroke => ({ path, weight: 'symbol' });
const wire = (path: string): Stroke => ({ path, weight: 'wire' });

/** A stage with one of these is known by it alone, whatever else amplifies beside it. */
const blockSymbols: ReadonlySet<SymbolName> = new Set<SymbolName>(['op-amp', 'input-pair']);

/** Two windings and the core between them. */
const windings: readonly Stroke[] = [line('M-9 -12a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8'), line('M9 -12a4 4 0 0 0 0 8a4 4 0 0 0 0 8a4 4 0 0 0 0 8'), wire('M-2 -12V12M2 -12V12')];

/** Stages whose drawing has no device to be known by, or several: a sign of their own, round the middle of the frame. */
const ownSigns: ReadonlyMap<string, readonly Stroke[]> = new Map([
  ['equaliser', [wire('M-18 5H18'), line('M-18 5C-6 5 -5 -10 0 -10S6 5 18 5')]],
  ['equaliser-bell', [wire('M-18 5H18'), line('M-18 5C-6 5 -5 -10 0 -10S6 5 18 5')]],
  ['equaliser-shelf', [wire('M-18 6H18'), line('M-18 6H-8C0 6 0 -8 8 -8H18')]],
  ['equaliser-inductor', [wire('M-18 8H18'), line('M-12 2a4 4 0 0 1 8 0a4 4 0 0 1 8 0a4 4 0 0 1 8 0')]],
  ['transformer-input', windings],
  ['transformer-output', windings],
  ['line', [line('M-18 -5H18M-18 5H18'), wire('M-24 -5H-18M18 -5H24')]],
  ['summing-bus', [wire('M-18 -10H-4M-18 -3H-4M-18 4H-4M-18 11H-4M-4 0H18'), line('M-4 -12V12')]],
]);

/**
 * The amplifying devices of the drawing, from top to bottom, mirrored and turned as they are drawn there; two stand over one another on
 * a common base line. Strokes keep their weight: the transform is meant for non-scaling strokes.
 */
export function signParts({ id, drawing }: Pick<StageDefinition, 'id' | 'drawing'>): readonly SignPart[] {
  const own = ownSigns.get(id);
  if (own) return [{ transform: 'translate(24 16)', strokes: own }];
  const known = drawing?.placements.some(({ symbol }) => blockSymbols.has(symbol)) ? blockSymbols : deviceSymbols;
  const devices = drawing?.placements.filter(({ symbol }) => known.has(symbol)).sort((a, b) => a.at[1] - b.at[1]).slice(0, known === blockSymbols ? 1 : 2) ?? [];
  if (devices.length === 0) return [curve];
  const pitch = 40;
  const scale = (signHeightPx - 4) / (devices.length === 1 ? 66 : 66 + pitch);
  const parts = devices.map(({ symbol, turn, mirrored }, index): SignPart => {
    const y = (index - (devices.length - 1) / 2) * pitch;
    return { transform: `translate(26 16) scale(${scale.toFixed(4)}) translate(0 ${y})${turn ? ` rotate(${turn})` : ''}${mirrored ? ' scale(-1 1)' : ''}`, strokes: symbolStrokes[symbol] };
  });
  if (devices.length === 1) return parts;
  const join: Stroke = { path: `M-32 ${-pitch / 2}V${pitch / 2}M-32 0H-52`, weight: 'wire' };
  return [{ transform: `translate(26 16) scale(${scale.toFixed(4)})`, strokes: [join] }, ...parts];
}
