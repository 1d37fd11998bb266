/** Parameters of the integrated kind. */
import type { Parameter } from '../contract.ts';
import { compensation, feedbackParameters, loadParameters, opAmpDrive } from '../shared/op-amp-parameters.ts';
import { current, makeUp, resistance, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  opAmpDrive(-5.96),
  ...feedbackParameters,
  current({
    id: 'tailAmperes', designator: 'G1', spoken: 'G 1', label: 'tail current of the pair', shortLabel: 'tail', range: [5e-6, 2e-4], default: 30e-6,
    help: 'All that can charge the compensation: sets the slew rate, and in an undegenerated pair the gain-bandwidth in the same proportion.',
  }),
  {
    ...resistance({
      id: 'degenerationOhms', designator: 'RE', spoken: 'R E', label: 'degeneration of the pair', shortLabel: 'degeneration', range: [0, 20e3], default: 0,
      help: 'In each emitter of the pair, none by default: with it the same gain-bandwidth has a higher slew rate and a straighter input.',
    }),
    taper: 'linear', step: 100,
  },
  compensation(30e-12),
  current({
    id: 'secondStageAmperes', designator: 'IS', spoken: 'I S', label: 'second stage', shortLabel: '2nd stage', range: [3e-4, 2e-3], default: 550e-6,
    help: 'Source above the second stage: what the output pair can be driven with on the way up.',
  }),
  current({
    id: 'quiescentAmperes', designator: 'IQ', spoken: 'I Q', label: 'quiescent current', shortLabel: 'quiescent', range: [1e-5, 5e-3], default: 100e-6,
    help: 'Of the output pair: too little leaves a crossover that feedback divides by less and less as the frequency rises.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE1', spoken: 'R E 1', label: 'emitter resistors of the output', shortLabel: 'out emitter', range: [5, 100], default: 25,
    help: 'Both emitter resistors of the output pair: they linearise the crossover and drop the voltage that the current limit is read from.',
  }),
  voltage({
    id: 'clampVolts', designator: 'L1', spoken: 'L 1', label: 'swing of the second stage', shortLabel: 'swing', range: [3, 30], default: 13.5,
    help: 'How far either way the node that drives the output goes before saturation holds it; it cannot wind up behind that.',
  }, 0.5),
  current({
    id: 'limitAmperes', designator: 'L3', spoken: 'L 3', label: 'current limit', shortLabel: 'limit', range: [5e-3, 0.1], default: 0.025,
    help: 'The most that either output transistor gives, feedback network included: a heavy load or a long line clips here before the rail.',
  }),
  voltage({
    id: 'railVolts', designator: 'VCC', spoken: 'V C C', label: 'supply rails, plus and minus', shortLabel: 'rails', range: [5, 32], default: 15,
    help: 'The two supplies; what the output reaches of them is set by the swing of the second stage.',
  }, 1),
  ...loadParameters(1, 'Outside the loop, by default no more than wiring: 50 Ω keeps a long line from taking the phase margin, at some level into a heavy load.', 100e-12),
  makeUp(0),
];
