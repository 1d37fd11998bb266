/** What stands round a path: where the signal comes from, how it is carried, what takes it, and the hum that comes along. */
import { makeParameter } from '../../stages/index.ts';
import type { NumberParameter, Parameter } from '../../stages/index.ts';

const { capacitance, level, ratio, resistance } = makeParameter;

/** Level at which there is no hum. */
export const noHumDbu = -120;

function length(id: string, designator: string, spoken: string, label: string, shortLabel: string, value: number, help: string): NumberParameter {
  return {
    kind: 'number', id, designator, label, shortLabel, spokenLabel: `${spoken}, ${label}`, help,
    quantity: 'length', unit: 'm', minimum: 0.1, maximum: 1000, default: value, taper: 'logarithmic', step: 1,
  };
}

export const parameters: readonly Parameter[] = [
  resistance({
    id: 'sourceOhms', designator: 'RS', spoken: 'R S', label: 'source impedance', shortLabel: 'source', range: [0.1, 1e4], default: 50,
    help: 'What stands before the path drives it through this resistance, both legs together.',
  }),
  length('tieMetres', 'CT', 'C T', 'tie line to the path', 'line in', 10, 'Length of cable between the source and the path.'),
  length('returnMetres', 'CR', 'C R', 'tie line from the path', 'line out', 10, 'Length of cable between the path and what takes its signal.'),
  {
    kind: 'number', id: 'tieFaradsPerMetre', label: 'cable capacitance per metre', shortLabel: 'cable', spokenLabel: 'cable capacitance per metre',
    help: 'Of both tie lines; 100 pF/m is common for screened pair (common practice, no source).',
    quantity: 'capacitance-per-length', unit: 'F/m', minimum: 1e-11, maximum: 1e-9, default: 1e-10, taper: 'logarithmic', step: 1e-12,
  },
  resistance({
    id: 'patchOhms', designator: 'RP', spoken: 'R P', label: 'patch in place of the path', shortLabel: 'patch', range: [0.01, 100], default: 0.1,
    help: 'Cord and contacts that join the two tie lines when the whole path is out of circuit.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [50, 1e6], default: 1e4,
    help: 'What takes the signal: about 10 kilohm where inputs bridge, 600 ohm where they are matched.',
  }),
  {
    kind: 'choice', id: 'balance', label: 'input balance', shortLabel: 'balance', spokenLabel: 'input balance', default: 'electronic',
    help: 'How the path takes a balanced signal, and so how much of the hum between both ends it lets in.',
    options: [{ id: 'transformer', label: 'transformer' }, { id: 'electronic', label: 'electronic' }, { id: 'unbalanced', label: 'unbalanced' }],
  },
  level({
    id: 'humDbu', label: 'hum on both legs', shortLabel: 'hum', range: [noHumDbu, 30], default: noHumDbu,
    help: 'Mains voltage between the grounds of source and path, common to both legs; −120 dBu: none.',
  }),
  {
    kind: 'choice', id: 'humHertz', label: 'mains frequency', shortLabel: 'mains', spokenLabel: 'mains frequency', default: '50',
    help: 'Frequency of the hum; its harmonics come with it.',
    options: [{ id: '50', label: '50 Hz' }, { id: '60', label: '60 Hz' }],
  },
  resistance({
    id: 'imbalanceOhms', label: 'difference of the source’s legs', shortLabel: 'leg diff.', range: [0.01, 1000], default: 10,
    help: 'One leg of the source has this much more resistance than the other: against the input’s impedance to ground it turns common voltage into signal.',
  }),
  resistance({
    id: 'commonModeOhms', label: 'electronic input, each leg to ground', shortLabel: 'leg to gnd', range: [1e3, 1e8], default: 1e4,
    help: 'Common-mode impedance of an electronic input: the higher, the less a difference of the source’s legs matters.',
  }),
  ratio({
    id: 'resistorMatch', label: 'electronic input, mismatch', shortLabel: 'mismatch', range: [1e-6, 0.1], default: 1e-3,
    help: 'How far the resistors of an electronic input are from a true pair: 0.001 lets common voltage in at −60 dB.',
  }, 1e-4),
  capacitance({
    id: 'windingFarads', label: 'transformer, winding to winding', shortLabel: 'winding', range: [1e-13, 1e-8], default: 5e-11,
    help: 'Capacitance through which a transformer lets common voltage pass: its rejection falls by 6 dB with each octave.',
  }),
];
