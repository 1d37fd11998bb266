/** Parameters of the field-effect single-ended stage. */
import type { Parameter } from '../contract.ts';
import { capacitance, drive, makeUp, ratio, resistance, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  resistance({
    id: 'padSeriesOhms', designator: 'RP1', spoken: 'R P 1', label: 'pad, series', shortLabel: 'pad series', range: [10, 1e6], default: 1300,
    help: 'With RP2 it sets how far line level is brought down before the transistor, and the resistance the gate sees.',
  }),
  resistance({
    id: 'padShuntOhms', designator: 'RP2', spoken: 'R P 2', label: 'pad, shunt', shortLabel: 'pad shunt', range: [10, 1e6], default: 1100,
    help: 'A larger value lets more signal through to the gate, so the stage works harder.',
  }),
  capacitance({
    id: 'inputCouplingFarads', designator: 'CIN', spoken: 'C in', label: 'input coupling', shortLabel: 'in coupling', range: [1e-10, 1e-4], default: 100e-9,
    help: 'Blocks direct current; when the gate is driven into conduction it charges and the bias shifts until it has leaked away.',
  }),
  resistance({
    id: 'upperDividerOhms', designator: 'RG1', spoken: 'R G 1', label: 'upper divider', shortLabel: 'divider up', range: [1e4, 1e8], default: 1.8e6,
    help: 'Raising it lowers the gate voltage and with it the drain current.',
  }),
  resistance({
    id: 'lowerDividerOhms', designator: 'RG2', spoken: 'R G 2', label: 'lower divider', shortLabel: 'divider low', range: [1e3, 1e8], default: 270e3,
    help: 'Raising it raises the gate voltage and with it the drain current.',
  }),
  voltage({
    id: 'supplyVolts', designator: 'VDD', spoken: 'V D D', label: 'supply', shortLabel: 'supply', range: [3, 60], default: 24,
    help: 'Sets the headroom; the divider takes the bias from it.',
  }, 1),
  resistance({
    id: 'drainOhms', designator: 'RD', spoken: 'R D', label: 'drain load', shortLabel: 'drain', range: [100, 1e5], default: 2200,
    help: 'Gain and output impedance rise with it, and the drain sits lower: the ohmic region comes sooner.',
  }),
  resistance({
    id: 'sourceOhms', designator: 'RS1', spoken: 'R S 1', label: 'source, unbypassed', shortLabel: 'degeneration', range: [1, 1e4], default: 680,
    help: 'Local feedback: lowers gain and second harmonic, and makes a third that a square law has not.',
  }),
  resistance({
    id: 'bypassedSourceOhms', designator: 'RS2', spoken: 'R S 2', label: 'source, bypassed', shortLabel: 'source bias', range: [1, 1e5], default: 270,
    help: 'Steadies the operating point without costing gain.',
  }),
  capacitance({
    id: 'bypassFarads', designator: 'CS', spoken: 'C S', label: 'source bypass', shortLabel: 'bypass', range: [1e-9, 1e-1], default: 470e-6,
    help: 'A small one loses gain at low frequencies; a large one stores the bias shift that a loud passage leaves behind.',
  }),
  voltage({
    id: 'thresholdVolts', designator: 'J1 VT', spoken: 'J 1 V T', label: 'threshold', shortLabel: 'threshold', range: [-8, -0.3], default: -2,
    help: 'Gate-to-source voltage at which the channel closes; a larger one makes the curve longer and the second harmonic smaller.',
  }, 0.1),
  ratio({
    id: 'betaAmperesPerVolt2', designator: 'J1 β', spoken: 'J 1 beta', label: 'current factor, A/V²', shortLabel: 'beta', range: [1e-4, 0.05], default: 2.5e-3,
    help: 'Drain current per square volt above threshold: 0.0025 gives 10 mA at zero gate voltage with a threshold of −2 V.',
  }, 1e-4),
  ratio({
    id: 'lambdaPerVolt', designator: 'J1 λ', spoken: 'J 1 lambda', label: 'channel length, 1/V', shortLabel: 'lambda', range: [0, 0.1], default: 0.01,
    help: 'How much the drain voltage acts on the current; it cancels part of the second harmonic.',
  }, 0.001, 'linear'),
  capacitance({
    id: 'outputCouplingFarads', designator: 'COUT', spoken: 'C out', label: 'output coupling', shortLabel: 'out coupling', range: [1e-9, 1e-2], default: 22e-6,
    help: 'Blocks the drain voltage; with the load it sets the low-frequency corner at the output.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [100, 1e7], default: 10e3,
    help: 'The standing load at the output; a heavy one takes gain and headroom.',
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'load capacitance', shortLabel: 'load cap', range: [1e-12, 1e-6], default: 1e-9,
    help: 'Cable behind the stage; with the output impedance it sets the high-frequency corner.',
  }),
  makeUp(0.2),
];
