/** What an op-amp stage presents to the next one: the closed loop's impedance, the build-out, its own load. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { closedLoopOhms } from './op-amp-loop.ts';
import { numbersOf } from './values.ts';

const resistiveHz = 1000;
const inductiveHz = 10_000;
/** Where the loop's gain is gone, the impedance is that of the open amplifier: looked for at these frequencies, Hz. */
const openHz = [1e5, 1e6, 1e7, 1e8];
/** An inductance that adds less than this share to the build-out at 10 kHz is left out. */
const negligibleShare = 0.01;

/**
 * Loop gain falls with frequency, so what it divides rises: a resistance and an inductance, the latter never more than the open amplifier's resistance. Exact at
 * 1 and 10 kHz but for that bound.
 */
export function opAmpOutputNetwork(values: StageValues, document: CircuitDocument): OutputNetwork {
  const v = numbersOf(values);
  const [low, high, ...open] = closedLoopOhms(document, [resistiveHz, inductiveHz, ...openHz]);
  const buildOut = v('buildOutOhms');
  const henries = high!.im / (2 * Math.PI * inductiveHz);
  const rises = high!.im > negligibleShare * buildOut;
  const series = Math.max(0, low!.re) + buildOut;
  const parallelOhms = Math.max(...open.map(({ re, im }) => Math.sqrt(re * re + im * im)));
  const amplifier: readonly Component[] = rises
    ? [
        { kind: 'inductor', name: 'LA', between: ['electromotive', 'amplifier'], henries },
        { kind: 'resistor', name: 'RA', between: ['electromotive', 'amplifier'], ohms: parallelOhms },
      ]
    : [];
  return {
    from: 'electromotive',
    to: 'out',
    components: [
      ...amplifier,
      { kind: 'resistor', name: 'RO', between: [rises ? 'amplifier' : 'electromotive', 'out'], ohms: series },
      { kind: 'resistor', name: 'RL', between: ['electromotive', 'out'], ohms: v('loadOhms') },
      { kind: 'capacitor', name: 'CL', between: ['electromotive', 'out'], farads: v('loadFarads') },
    ],
  };
}
