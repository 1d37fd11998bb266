/** How traces are told apart: by weight, dash and outline; a colour comes on top and is never needed. */
import type { FigureTrace } from '../../dsp/measure/figures/index.ts';
import { judgeOrder } from '../../dsp/measure/index.ts';
import type { ColourName } from './palette.ts';
import type { Pen } from './scene.ts';

const solid: readonly number[] = [];
const dashed = [8, 4];
const dotted = [2, 3];
const dashDot = [9, 3, 2, 3];

const rolePens: Readonly<Record<FigureTrace['role'], Pen>> = {
  main: { colour: 'ink', widthPx: 2, dash: solid },
  second: { colour: 'trace-2', widthPx: 1.75, dash: dashed },
  third: { colour: 'trace-3', widthPx: 1.75, dash: dashDot },
  ideal: { colour: 'pencil', widthPx: 1.5, dash: [14, 4] },
  difference: { colour: 'trace-4', widthPx: 1.75, dash: dotted },
  noise: { colour: 'pencil', widthPx: 1, dash: solid },
};

/** Among harmonics, where a dash says harsh, a sum of them: broad and pale, behind them all. */
const amongOrders: Pen = { colour: 'edge', widthPx: 4, dash: solid };

/** For traces of a role that is drawn already. */
const spareDashes: readonly (readonly number[])[] = [solid, dashed, dashDot, dotted, [14, 4, 2, 4, 2, 4], [4, 4], [20, 4]];

/** Harsh orders by turns: 5, 7, 8, 9, 10 have each their own dash. */
const harshDashes: readonly (readonly number[])[] = [[10, 4], [5, 3], dotted, dashDot, [9, 3, 2, 3, 2, 3]];
const firstHarsh = [5, 7, 8, 9, 10];

/** Solid ink for 2 and 3, the second the heavier; an outline for 4 and 6, the lower the heavier; dashes for all that are harsh. */
export function orderPen(order: number): Pen {
  const { fill } = judgeOrder(order);
  switch (fill) {
    case 'solid': return { colour: 'ink', widthPx: order === 2 ? 2.5 : 1.5, dash: solid };
    case 'outline': return order === 4 ? { colour: 'ink', widthPx: 3.5, dash: solid, corePx: 2 } : { colour: 'ink', widthPx: 2.5, dash: solid, corePx: 1.25 };
    case 'hatched': {
      const turn = firstHarsh.includes(order) ? firstHarsh.indexOf(order) : order;
      return { colour: 'ink', widthPx: 1.5, dash: harshDashes[turn % harshDashes.length]! };
    }
  }
}

export const isHarsh = ({ order }: FigureTrace): boolean => order !== undefined && order >= 2 && judgeOrder(order).judgement === 'harsh';

const same = (one: Pen, other: Pen): boolean => one.widthPx === other.widthPx && one.corePx === other.corePx && one.dash.join() === other.dash.join();

const hasOrder = ({ order }: FigureTrace): boolean => order !== undefined && order >= 2;

/** One pen for each trace of a panel, no two alike while there are dashes left; a line by itself has nothing to be told from and is not broken. */
export function pensOf(traces: readonly FigureTrace[]): readonly Pen[] {
  if (traces.length === 1 && !hasOrder(traces[0]!)) return [{ ...rolePens[traces[0]!.role], dash: solid }];
  const orders = traces.some(hasOrder);
  const taken: Pen[] = [];
  return traces.map((trace) => {
    const wished = hasOrder(trace) ? orderPen(trace.order!) : orders && trace.role === 'main' ? amongOrders : rolePens[trace.role];
    const free = [wished, ...spareDashes.map((dash): Pen => ({ colour: wished.colour, widthPx: wished.widthPx, dash }))].find((pen) => !taken.some((other) => same(pen, other)));
    taken.push(free ?? wished);
    return free ?? wished;
  });
}

/** Colours of the first, second, … kept figure. */
const keptColours: readonly ColourName[] = ['pencil', 'trace-2', 'trace-3', 'trace-4'];

/** The same dash, thinner, in pencil: what was kept stands behind what is now. */
export function keptPen({ dash, widthPx }: Pen, index: number): Pen {
  return { colour: keptColours[index % keptColours.length]!, widthPx: Math.max(0.75, widthPx * 0.45), dash };
}
