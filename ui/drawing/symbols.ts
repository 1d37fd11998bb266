/**
 * Shape of each symbol, in px from the placement's point, unturned and unmirrored; terminals as in `symbolTerminals`.
 * Resistor, capacitor, sources and valves follow the graphical symbols of IEC 60617 (from memory), in our own proportions.
 */
import { gridPx } from '../../dsp/stages/drawing.ts';
import type { Placement, SymbolName } from '../../dsp/stages/drawing.ts';

/** Line weight: wires 1.5, symbols 2, device bars 3. */
export type Weight = 'wire' | 'symbol' | 'device';

/** One stroke: SVG path data; `filled` ones are closed and filled with ink, the others are open or hollow. */
export interface Stroke {
  readonly path: string;
  readonly weight: Weight;
  readonly filled?: true;
  readonly dashed?: true;
}

export const weightPx: Readonly<Record<Weight, number>> = { wire: 1.5, symbol: 2, device: 3 };

const lead = (path: string): Stroke => ({ path, weight: 'wire' });
const line = (path: string): Stroke => ({ path, weight: 'symbol' });
const bar = (path: string): Stroke => ({ path, weight: 'device' });
const solid = (path: string): Stroke => ({ path, weight: 'wire', filled: true });
const circle = (radius: number, x = 0, y = 0) => `M${x - radius} ${y}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0Z`;

const upAndDown = (from: number): Stroke[] => [lead(`M0 -24V${-from}`), lead(`M0 ${from}V24`)];
const openEnd: Stroke[] = [line(circle(3))];

/** Base lead and bar; `collector` and `emitter` legs differ by polarity. */
const bipolarBody: Stroke[] = [lead('M-32 0H-10'), bar('M-10 -18V18')];

export const symbolStrokes: Readonly<Record<SymbolName, readonly Stroke[]>> = {
  // A box of 10 × 30.
  resistor: [...upAndDown(15), line('M-5 -15H5V15H-5Z')],
  // Two plates of 24, 10 apart.
  capacitor: [...upAndDown(5), line('M-12 -5H12'), line('M-12 5H12')],
  inductor: [...upAndDown(16), line('M0 -16a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8')],
  diode: [...upAndDown(7), line('M-7 -7H7L0 7Z'), line('M-7 7H7')],
  // A circle with the line through it; the short cross is at the plus side. The circle is hollow and so drawn first.
  'voltage-source': [line(circle(12)), lead('M0 -24V24'), line('M9 -19H15M12 -22V-16')],
  'current-source': [...upAndDown(12), line(circle(12)), line('M-12 0H12'), solid('M20 16L16 8H24Z'), lead('M20 -12V8')],
  'bipolar-npn': [...bipolarBody, lead('M-10 -8L16 -24V-32'), lead('M-10 8L16 24V32'), solid('M14 22.8L4.5 22.2L8.5 14.8Z')],
  'bipolar-pnp': [...bipolarBody, lead('M-10 8L16 24V32'), lead('M-10 -8L16 -24V-32'), solid('M-7 -9.8L2.5 -10.4L-1.5 -17.8Z')],
  // Junction type: the gate's arrow points at an n channel.
  'field-effect-n': [lead('M-32 0H-10'), bar('M-8 -18V18'), lead('M-8 -12H16V-32'), lead('M-8 12H16V32'), solid('M-9 0L-19 -4.5V4.5Z')],
  triode: [
    line(circle(26)), lead('M0 -40V-14'), bar('M-11 -13H11'), lead('M-32 0H-17'), { path: 'M-16 0H17', weight: 'symbol', dashed: true },
    bar('M-11 13H11'), lead('M0 14V40'),
  ],
  // A triangle that points at its output; the signs stand inside, at the inputs.
  'op-amp': [lead('M-32 -16H-20'), lead('M-32 16H-20'), line('M-20 -28V28L22 0Z'), lead('M22 0H32'), lead('M-16 -16H-8'), lead('M-16 16H-8M-12 12V20')],
  // A trapezium that narrows towards its output, with the op-amp's signs.
  'input-pair': [lead('M-32 -16H-20'), lead('M-32 16H-20'), line('M-20 -28V28L20 14V-14Z'), lead('M20 0H32'), lead('M-16 -16H-8'), lead('M-16 16H-8M-12 12V20')],
  // Two breakdown diodes face to face.
  limiter: [...upAndDown(14), line('M-7 -13H7L0 -1Z'), line('M-9 -3L-7 -1H7L9 1'), line('M-7 13H7L0 1Z')],
  core: [...upAndDown(16), line('M0 -16a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8'), line('M8 -16V16M12 -16V16')],
  transformer: [
    lead('M-24 -24H-10V-16'), line('M-10 -16a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8a4 4 0 0 1 0 8'), lead('M-10 16V24H-24'),
    lead('M24 -24H10V-16'), line('M10 -16a4 4 0 0 0 0 8a4 4 0 0 0 0 8a4 4 0 0 0 0 8a4 4 0 0 0 0 8'), lead('M10 16V24H24'),
    line('M-2 -18V18M2 -18V18'), solid(circle(1.5, -16, -17)), solid(circle(1.5, 16, -17)),
  ],
  ground: [lead('M0 0V8'), line('M-10 8H10'), line('M-6 12H6'), line('M-2 16H2')],
  supply: openEnd,
  input: openEnd,
  output: openEnd,
};

/** Places a symbol: mirrored first, then turned, then moved. */
export function placementTransform({ at, turn, mirrored }: Placement): string {
  const moved = `translate(${at[0] * gridPx} ${at[1] * gridPx})`;
  return `${moved}${turn ? ` rotate(${turn})` : ''}${mirrored ? ' scale(-1 1)' : ''}`;
}

/** Symbols that amplify: what a stage is known by. */
export const deviceSymbols: ReadonlySet<SymbolName> = new Set<SymbolName>(['bipolar-npn', 'bipolar-pnp', 'field-effect-n', 'triode', 'op-amp', 'input-pair']);
