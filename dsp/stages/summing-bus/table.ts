/** Parameters of the summing bus. */
import type { Parameter } from '../contract.ts';
import { opAmpParameters } from '../shared/op-amp-block.ts';
import { capacitance, drive, makeUp, ratio, resistance } from '../shared/parameters.ts';
import { outputParameters } from '../shared/pot-equaliser.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  ratio({
    id: 'sources', label: 'number of sources', shortLabel: 'sources', range: [2, 64], default: 24,
    help: 'Each more raises the noise gain by one: the bus gets noisier, slower and looser, although the programme comes from one source alone.',
  }, 1, 'linear'),
  resistance({
    id: 'sourceOhms', designator: 'RS', spoken: 'R S', label: 'resistance of each source', shortLabel: 'source', range: [1, 1e3], default: 50,
    help: 'What drives each mix resistor; what the virtual earth leaves is heard in the other sources across it.',
  }),
  resistance({
    id: 'mixOhms', designator: 'RM', spoken: 'R M', label: 'mix resistors', shortLabel: 'mix', range: [1e3, 1e5], default: 10e3,
    help: 'One for each source: low ones are quieter and load their sources.',
  }),
  capacitance({
    id: 'wiringFarads', designator: 'CW', spoken: 'C W', label: 'wiring at the virtual earth', shortLabel: 'wiring', range: [1e-11, 1e-7], default: 1e-9,
    help: 'Of the long bus to earth: it raises the noise gain at high frequencies and costs margin.',
  }),
  resistance({
    id: 'feedbackOhms', designator: 'RF', spoken: 'R F', label: 'feedback resistor', shortLabel: 'feedback', range: [1e3, 1e5], default: 10e3,
    help: 'Over RM and RS it is the gain from one source.',
  }),
  capacitance({
    id: 'feedbackFarads', designator: 'CF', spoken: 'C F', label: 'feedback capacitor', shortLabel: 'feedback cap', range: [1e-12, 1e-9], default: 22e-12,
    help: 'Gives margin back against the wiring, and ends the band with RF.',
  }),
  ...outputParameters(),
  ...opAmpParameters(),
  makeUp(0.08),
];
