/** Parameters that every transformer has; each stage says its own defaults. */
import type { Parameter } from '../contract.ts';
import { capacitance, choice, current, inductance, ratio, resistance } from './parameters.ts';
import { coreParameters } from './transformer-core.ts';

export interface TransformerDefaults {
  readonly turnsRatio: number;
  readonly primaryOhms: number;
  readonly secondaryOhms: number;
  readonly primaryHenries: number;
  readonly saturationDbu: number;
  readonly saturationRangeDbu: readonly [number, number];
  readonly gapHenries: number;
  readonly directAmperes: number;
  readonly leakageHenries: number;
  readonly primaryFarads: number;
  readonly secondaryFarads: number;
  readonly damper: 'on' | 'off';
  readonly damperOhms: number;
  readonly damperFarads: number;
}

/** In the order of the drawing, from the primary's terminals to the damper. */
export function transformerParameters(defaults: TransformerDefaults): readonly Parameter[] {
  return [
    capacitance({
      id: 'primaryFarads', designator: 'CP', spoken: 'C P', label: 'primary capacitance', shortLabel: 'primary cap', range: [1e-12, 1e-7], default: defaults.primaryFarads,
      help: 'Between the turns of the primary, lumped across its terminals; it loads the driver at the top of the band.',
    }),
    resistance({
      id: 'primaryOhms', designator: 'RP', spoken: 'R P', label: 'primary winding resistance', shortLabel: 'primary', range: [0.1, 1e4], default: defaults.primaryOhms,
      help: 'Loses level, damps the resonance, and with the driver turns the core’s magnetising current into distortion.',
    }),
    inductance({
      id: 'primaryHenries', designator: 'LM', spoken: 'L M', label: 'primary inductance', shortLabel: 'inductance', range: [0.05, 1000], default: defaults.primaryHenries,
      help: 'Magnetising inductance of the core for small signals: too little loses bass and raises the core’s distortion there.',
    }),
    ...coreParameters(defaults.saturationDbu, defaults.saturationRangeDbu),
    choice({
      id: 'gap', label: 'air gap', shortLabel: 'gap', options: [['none', 'none'], ['gapped', 'gapped, carries direct current']], default: 'none',
      help: 'A gap lets the primary carry direct current without saturating the core, at the price of inductance.',
    }),
    inductance({
      id: 'gapHenries', designator: 'LG', spoken: 'L G', label: 'inductance of the gap', shortLabel: 'gap', range: [0.05, 1000], default: defaults.gapHenries,
      help: 'What the primary would have if only the gap resisted the flux; core and gap act like two inductances in parallel.',
    }),
    current({
      id: 'directAmperes', designator: 'IDC', spoken: 'I D C', label: 'direct current in the primary', shortLabel: 'direct', range: [1e-6, 0.2], default: defaults.directAmperes,
      help: 'Flows through a gapped primary and moves the core off its middle: even harmonics, and less room on one side.',
    }),
    inductance({
      id: 'leakageHenries', designator: 'LK', spoken: 'L K', label: 'leakage inductance', shortLabel: 'leakage', range: [1e-6, 0.1], default: defaults.leakageHenries,
      help: 'Flux that misses the other winding; with the capacitance behind it, it resonates and then ends the band.',
    }),
    ratio({
      id: 'turnsRatio', designator: 'T1', spoken: 'T 1', label: 'turns, primary over secondary', shortLabel: 'turns', range: [0.02, 50], default: defaults.turnsRatio,
      help: 'Below 1 steps the voltage up and the impedance with its square, above 1 down.',
    }, 0.01),
    resistance({
      id: 'secondaryOhms', designator: 'RS', spoken: 'R S', label: 'secondary winding resistance', shortLabel: 'secondary', range: [0.1, 1e5], default: defaults.secondaryOhms,
      help: 'Loses level into the load and damps the resonance of leakage and line.',
    }),
    capacitance({
      id: 'secondaryFarads', designator: 'CS', spoken: 'C S', label: 'secondary capacitance', shortLabel: 'second. cap', range: [1e-12, 1e-7], default: defaults.secondaryFarads,
      help: 'Between the turns of the secondary, lumped across its terminals; it adds to the capacitance of the line.',
    }),
    choice({
      id: 'damper', label: 'damper', shortLabel: 'damper', options: [['off', 'off'], ['on', 'on']], default: defaults.damper,
      help: 'A resistor and a capacitor across the secondary that take the resonance down: wanted with short lines.',
    }),
    resistance({
      id: 'damperOhms', designator: 'RD', spoken: 'R D', label: 'damper resistance', shortLabel: 'damper R', range: [10, 1e6], default: defaults.damperOhms,
      help: 'Near the characteristic resistance of leakage and capacitance it damps most.',
    }),
    capacitance({
      id: 'damperFarads', designator: 'CD', spoken: 'C D', label: 'damper capacitance', shortLabel: 'damper C', range: [1e-11, 1e-6], default: defaults.damperFarads,
      help: 'Keeps the damper out of the band; several times the capacitance it is to damp.',
    }),
  ];
}
