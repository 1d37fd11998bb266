/** Parameters of the valve single-ended stage. */
import type { Parameter } from '../contract.ts';
import { capacitance, drive, makeUp, ratio, resistance, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  resistance({
    id: 'padSeriesOhms', designator: 'RP1', spoken: 'R P 1', label: 'pad, series', shortLabel: 'pad series', range: [10, 1e6], default: 7500,
    help: 'With RP2 it sets how far line level is brought down before the valve, and the resistance the grid sees.',
  }),
  resistance({
    id: 'padShuntOhms', designator: 'RP2', spoken: 'R P 2', label: 'pad, shunt', shortLabel: 'pad shunt', range: [10, 1e6], default: 680,
    help: 'A larger value lets more signal through to the grid, so the stage works harder.',
  }),
  capacitance({
    id: 'inputCouplingFarads', designator: 'CIN', spoken: 'C in', label: 'input coupling', shortLabel: 'in coupling', range: [1e-10, 1e-4], default: 100e-9,
    help: 'Grid current charges it on loud peaks; the bias stays shifted until the grid leak has discharged it.',
  }),
  resistance({
    id: 'gridLeakOhms', designator: 'RG', spoken: 'R G', label: 'grid leak', shortLabel: 'grid leak', range: [1e3, 1e7], default: 470e3,
    help: 'Holds the grid at ground and discharges the coupling capacitor after grid current has flowed.',
  }),
  voltage({
    id: 'supplyVolts', designator: 'VHT', spoken: 'V H T', label: 'plate supply', shortLabel: 'supply', range: [30, 450], default: 250,
    help: 'Sets the headroom and, through the cathode resistors, the anode current.',
  }, 5),
  resistance({
    id: 'anodeOhms', designator: 'RA', spoken: 'R A', label: 'anode load', shortLabel: 'anode load', range: [1e3, 1e6], default: 22e3,
    help: 'A larger one gives more gain and less second harmonic, and less current.',
  }),
  resistance({
    id: 'cathodeOhms', designator: 'RK1', spoken: 'R K 1', label: 'cathode, unbypassed', shortLabel: 'degeneration', range: [1, 1e4], default: 220,
    help: 'Local feedback: lowers gain and second harmonic and raises the output impedance.',
  }),
  resistance({
    id: 'bypassedCathodeOhms', designator: 'RK2', spoken: 'R K 2', label: 'cathode, bypassed', shortLabel: 'cathode bias', range: [1, 1e5], default: 390,
    help: 'With RK1 it sets the bias: raising it lowers the current and takes the grid further from conduction.',
  }),
  capacitance({
    id: 'bypassFarads', designator: 'CK', spoken: 'C K', label: 'cathode bypass', shortLabel: 'bypass', range: [1e-9, 1e-1], default: 220e-6,
    help: 'A small one loses gain at low frequencies; a large one stores the bias shift that a loud passage leaves behind.',
  }),
  ratio({
    id: 'mu', designator: 'V1 µ', spoken: 'V 1 mu', label: 'amplification factor', shortLabel: 'mu', range: [4, 120], default: 22,
    help: 'How many times better the grid commands the current than the anode does.',
  }, 1),
  ratio({
    id: 'perveance', designator: 'V1 K', spoken: 'V 1 K', label: 'perveance, A/V^1.5', shortLabel: 'perveance', range: [1e-5, 1e-2], default: 8.1e-4,
    help: 'Current per volt to the power three halves: the size of the valve.',
  }, 1e-5),
  capacitance({
    id: 'outputCouplingFarads', designator: 'COUT', spoken: 'C out', label: 'output coupling', shortLabel: 'out coupling', range: [1e-9, 1e-4], default: 2.2e-6,
    help: 'Blocks the anode voltage; with the load it sets the low-frequency corner at the output.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [1e3, 1e7], default: 100e3,
    help: 'The output impedance is near 9 kΩ: a line is far too heavy and costs gain and headroom.',
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'load capacitance', shortLabel: 'load cap', range: [1e-12, 1e-7], default: 100e-12,
    help: 'Cable behind the stage; with the output impedance it sets the high-frequency corner.',
  }),
  makeUp(0),
];
