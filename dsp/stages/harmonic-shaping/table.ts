/** Parameters of the harmonic shaping stage. */
import type { ChoiceParameter, Parameter } from '../contract.ts';
import { frequency, harmonicAmount, level, makeUp } from '../shared/parameters.ts';

function sign(id: string, label: string, shortLabel: string, help: string, standard: string): ChoiceParameter {
  return {
    kind: 'choice', id, label, shortLabel, spokenLabel: label, help, default: standard,
    options: [{ id: 'off', label: 'off' }, { id: 'positive', label: 'positive' }, { id: 'negative', label: 'negative' }],
  };
}

export const parameters: readonly Parameter[] = [
  sign('secondSign', 'second harmonic, sign', '2nd sign', 'Of a cosine: positive makes the positive peaks taller, negative the negative ones; off adds nothing at all.', 'positive'),
  harmonicAmount({
    id: 'secondDb', label: 'second harmonic', shortLabel: '2nd', range: [-120, -20], default: -60,
    help: 'Level of the second harmonic relative to the fundamental at the reference level.',
  }),
  sign('thirdSign', 'third harmonic, sign', '3rd sign', 'Of a cosine: positive makes both peaks taller, negative rounds them; off adds nothing at all.', 'negative'),
  harmonicAmount({
    id: 'thirdDb', label: 'third harmonic', shortLabel: '3rd', range: [-120, -20], default: -70,
    help: 'Level of the third harmonic relative to the fundamental at the reference level.',
  }),
  level({
    id: 'referenceDbu', label: 'reference level', shortLabel: 'reference', range: [-20, 20], default: 4,
    help: 'Input level at which the two amounts hold exactly.',
  }),
  {
    kind: 'choice', id: 'law', label: 'law over level', shortLabel: 'law', spokenLabel: 'law over level', default: 'polynomial',
    options: [{ id: 'polynomial', label: 'polynomial' }, { id: 'held', label: 'held over level' }],
    help: 'Polynomial: relative second falls 1 dB and third 2 dB for each dB below the reference. Held: both amounts stay, by the envelope of an analytic signal.',
  },
  level({
    id: 'heldDownToDbu', label: 'held down to', shortLabel: 'held to', range: [-80, 0], default: -36,
    help: 'Of the held law alone: around this level the amounts begin to fall as those of a polynomial do, so that silence stays silent.',
  }),
  frequency({
    id: 'bandLimitHz', label: 'band limit before the branch', shortLabel: 'band limit', range: [500, 40e3], default: 20e3,
    help: 'Second-order Butterworth low-pass of the shaped branch only; tones above it get fewer harmonics, and its phase turns theirs.',
  }),
  level({
    id: 'ceilingDbu', label: 'ceiling of the branch', shortLabel: 'ceiling', range: [-20, 24], default: 16,
    help: 'Above it the branch saturates smoothly, so that a loud peak cannot fold the curve back.',
  }),
  makeUp(0),
];
