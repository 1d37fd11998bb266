/** What the supply of a path adds: noise of its parts, ripple of its rails. */
import { makeParameter } from '../../stages/index.ts';
import type { NumberParameter, Parameter } from '../../stages/index.ts';

const { capacitance, gain, resistance } = makeParameter;

const seed: NumberParameter = {
  kind: 'number', id: 'seed', label: 'seed of the noise', shortLabel: 'seed', spokenLabel: 'seed of the noise',
  help: 'The same seed gives the same noise, sample for sample.',
  quantity: 'ratio', unit: '', minimum: 0, maximum: 9999, default: 1, taper: 'linear', step: 1,
};

const temperature: NumberParameter = {
  kind: 'number', id: 'temperatureC', label: 'temperature of the parts', shortLabel: 'temperature', spokenLabel: 'temperature of the parts',
  help: 'Thermal noise grows with the root of the absolute temperature.',
  quantity: 'temperature', unit: '°C', minimum: -20, maximum: 85, default: 27, taper: 'linear', step: 1,
};

export const parameters: readonly Parameter[] = [
  {
    kind: 'choice', id: 'noise', label: 'noise and ripple', shortLabel: 'noise', spokenLabel: 'noise and ripple', default: 'off',
    help: 'Off: parts are silent and rails are stiff, as everywhere else on the bench.',
    options: [
      { id: 'off', label: 'off' }, { id: 'on', label: 'noise and ripple' }, { id: 'noise-alone', label: 'noise alone' }, { id: 'ripple-alone', label: 'ripple alone' },
    ],
  },
  seed,
  temperature,
  {
    kind: 'choice', id: 'rippleHertz', label: 'ripple frequency', shortLabel: 'ripple Hz', spokenLabel: 'ripple frequency', default: '100',
    help: 'Twice the mains frequency behind a full-wave rectifier.',
    options: [{ id: '100', label: '100 Hz' }, { id: '120', label: '120 Hz' }],
  },
  capacitance({
    id: 'reservoirFarads', label: 'reservoir', shortLabel: 'reservoir', range: [1e-6, 0.1], default: 2.2e-3,
    help: 'Behind the rectifier of each rail voltage: the current of all stages on it, taken out between two charges, makes the ripple.',
  }),
  gain({
    id: 'regulationDb', label: 'regulation', shortLabel: 'regulation', range: [0, 120], default: 60,
    help: 'By so much a regulator between reservoir and rail lessens ripple and sag; 0 dB: the stages stand on the reservoir itself.',
  }),
  resistance({
    id: 'supplyOhms', label: 'source impedance of the rails', shortLabel: 'supply', range: [1e-3, 100], default: 0.1,
    help: 'Of regulator and wiring, shared by all stages on a rail: what one draws, the others see.',
  }),
];
