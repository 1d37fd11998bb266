/** The object that `npm run -s bench -- --json` prints, from what the parts of the bench measured. Null is what could not be measured. */
import type { ChromiumFigures } from './chromium/page.ts';
import type { KernelTiming } from './kernel-timing.ts';
import type { SweepTiming } from './level-sweep.ts';
import { median } from './median.ts';
import type { SimulatorRatio } from './simulator-ratio.ts';

/** What the part in Node measured, as far as it is printed here. */
export interface NodeFigures {
  readonly kernels: Readonly<Record<string, Pick<KernelTiming, 'nsPerSample' | 'ratioToCppO3' | 'ratioToCppNativeTwoLane'> & { readonly rule: string }>>;
  readonly chain: { readonly realTimeT1: number; readonly realTimeListening: number; readonly firstBlocks: readonly { readonly start: number; readonly change: number }[] };
  readonly levelSweep: { readonly sweeps: readonly SweepTiming[] };
  readonly simulator: { readonly at1kHz: readonly Pick<SimulatorRatio, 'ratio'>[] | null; readonly at10kHz: readonly Pick<SimulatorRatio, 'ratio'>[] | null };
}

export interface RenderFigures {
  readonly realTimePerCore: number;
  readonly twoWorkersRatio: number;
}

/** The smallest ratio to a simulator stands only where every circuit has one: a circuit left out may be the worst. */
export function figuresOf({ kernels, chain, levelSweep, simulator }: NodeFigures, chromium: Pick<ChromiumFigures, 'realTimeListening' | 'lateBlocks'> | null, render: RenderFigures | null) {
  const smallest = (list: NodeFigures['simulator']['at1kHz']): number | null => (list === null || list.length < Object.keys(kernels).length ? null : Math.min(...list.map(({ ratio }) => ratio)));
  return {
    kernels: Object.fromEntries(Object.entries(kernels).map(([name, { nsPerSample, ratioToCppO3, ratioToCppNativeTwoLane, rule }]) => [name, { nsPerSample, ratioToCppO3, ratioToCppNativeTwoLane, rule }])),
    chain: { realTimeT1: chain.realTimeT1, realTimeListening: chain.realTimeListening, worstBlockRatio: median(chain.firstBlocks.map(({ start, change }) => Math.max(start, change))) },
    chromium: { realTimeListening: chromium?.realTimeListening ?? null, lateBlocks: chromium?.lateBlocks ?? null },
    render: { realTimePerCore: render?.realTimePerCore ?? null, twoWorkersRatio: render?.twoWorkersRatio ?? null },
    levelSweep: Object.fromEntries(levelSweep.sweeps.map(({ frequencyHz, totalMilliseconds, firstPointsMilliseconds }) => [`${frequencyHz}Hz`, { totalMilliseconds, firstPointsMilliseconds }])),
    simulatorRatio: { at1kHz: smallest(simulator.at1kHz), at10kHz: smallest(simulator.at10kHz) },
  };
}
