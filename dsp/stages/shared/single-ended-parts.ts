/** What the three single-ended stages have in common: the pad before them, coupling and load behind them. */
import type { Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { numbersOf } from './values.ts';

/** RP1 from `from` to "pad", RP2 from "pad" to ground. */
export function padParts(values: StageValues, from: string): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'resistor', name: 'RP1', between: [from, 'pad'], ohms: v('padSeriesOhms') },
    { kind: 'resistor', name: 'RP2', between: ['pad', 'ground'], ohms: v('padShuntOhms') },
  ];
}

/** COUT from the device's output electrode to "out", RL and CL from "out" to ground. */
export function outputParts(values: StageValues, electrode: string): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'capacitor', name: 'COUT', between: [electrode, 'out'], farads: v('outputCouplingFarads') },
    { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
    { kind: 'capacitor', name: 'CL', between: ['out', 'ground'], farads: v('loadFarads') },
  ];
}

/**
 * Thévenin one-port at "out": the electrode's resistance in series with COUT, all in parallel with RL and CL, which stand between the same two nodes.
 * Exact for the linear parts; `electrodeOhms` is the small-signal resistance at the operating point.
 */
export function outputNetworkOf(values: StageValues, electrodeOhms: number): OutputNetwork {
  const v = numbersOf(values);
  return {
    from: 'electromotive',
    to: 'out',
    components: [
      { kind: 'resistor', name: 'RO', between: ['electromotive', 'electrode'], ohms: electrodeOhms },
      { kind: 'capacitor', name: 'COUT', between: ['electrode', 'out'], farads: v('outputCouplingFarads') },
      { kind: 'resistor', name: 'RL', between: ['electromotive', 'out'], ohms: v('loadOhms') },
      { kind: 'capacitor', name: 'CL', between: ['electromotive', 'out'], farads: v('loadFarads') },
    ],
  };
}
