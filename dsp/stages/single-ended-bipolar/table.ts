/** Parameters of the bipolar single-ended stage. */
import type { Parameter } from '../contract.ts';
import { capacitance, drive, makeUp, ratio, resistance, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  resistance({
    id: 'padSeriesOhms', designator: 'RP1', spoken: 'R P 1', label: 'pad, series', shortLabel: 'pad series', range: [10, 1e6], default: 4300,
    help: 'With RP2 it sets how far line level is brought down before the transistor, and the resistance the base sees.',
  }),
  resistance({
    id: 'padShuntOhms', designator: 'RP2', spoken: 'R P 2', label: 'pad, shunt', shortLabel: 'pad shunt', range: [10, 1e6], default: 680,
    help: 'A larger value lets more signal through to the base, so the stage works harder.',
  }),
  capacitance({
    id: 'inputCouplingFarads', designator: 'CIN', spoken: 'C in', label: 'input coupling', shortLabel: 'in coupling', range: [1e-9, 1e-2], default: 22e-6,
    help: 'Blocks direct current; with the base divider it sets the low-frequency corner and how the bias recovers after a loud passage.',
  }),
  resistance({
    id: 'upperDividerOhms', designator: 'RB1', spoken: 'R B 1', label: 'upper divider', shortLabel: 'divider up', range: [1e3, 1e7], default: 47e3,
    help: 'Raising it lowers the base voltage and with it the collector current.',
  }),
  resistance({
    id: 'lowerDividerOhms', designator: 'RB2', spoken: 'R B 2', label: 'lower divider', shortLabel: 'divider low', range: [100, 1e6], default: 9100,
    help: 'Raising it raises the base voltage and with it the collector current.',
  }),
  voltage({
    id: 'supplyVolts', designator: 'VCC', spoken: 'V C C', label: 'supply', shortLabel: 'supply', range: [3, 60], default: 24,
    help: 'Sets the headroom; the divider takes the bias from it.',
  }, 1),
  resistance({
    id: 'collectorOhms', designator: 'RC', spoken: 'R C', label: 'collector load', shortLabel: 'collector', range: [100, 1e5], default: 2200,
    help: 'Gain and output impedance rise with it, and the collector sits lower: less room before saturation.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE1', spoken: 'R E 1', label: 'emitter, unbypassed', shortLabel: 'degeneration', range: [1, 1e4], default: 220,
    help: 'Local feedback: more of it lowers the gain and the second harmonic, and turns the sign of the third.',
  }),
  resistance({
    id: 'bypassedEmitterOhms', designator: 'RE2', spoken: 'R E 2', label: 'emitter, bypassed', shortLabel: 'emitter bias', range: [1, 1e5], default: 390,
    help: 'Steadies the operating point without costing gain.',
  }),
  capacitance({
    id: 'bypassFarads', designator: 'CE', spoken: 'C E', label: 'emitter bypass', shortLabel: 'bypass', range: [1e-9, 1e-1], default: 1000e-6,
    help: 'A small one loses gain at low frequencies; a large one stores the bias shift that a loud passage leaves behind.',
  }),
  ratio({
    id: 'forwardBeta', designator: 'Q1 β', spoken: 'Q 1 beta', label: 'current gain', shortLabel: 'beta', range: [20, 2000], default: 300,
    help: 'A low one loads the pad, and its varying base current adds second harmonic.',
  }, 10),
  voltage({
    id: 'earlyVolts', designator: 'VA', spoken: 'V A', label: 'Early voltage', shortLabel: 'Early', range: [10, 1000], default: 100,
    help: 'How little the collector voltage acts on the current; a low one lowers gain and output impedance.',
  }, 5),
  capacitance({
    id: 'outputCouplingFarads', designator: 'COUT', spoken: 'C out', label: 'output coupling', shortLabel: 'out coupling', range: [1e-9, 1e-2], default: 47e-6,
    help: 'Blocks the collector voltage; with the load it sets the low-frequency corner at the output.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [100, 1e7], default: 10e3,
    help: 'The standing load at the output; a heavy one takes gain and headroom.',
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'load capacitance', shortLabel: 'load cap', range: [1e-12, 1e-6], default: 1e-9,
    help: 'Cable behind the stage; with the output impedance it sets the high-frequency corner.',
  }),
  makeUp(0),
];
