/** What this bell is to the reports all bells share. */
import { ratioToDecibels } from '../../math/index.ts';
import type { StageReading, StageValues } from '../contract.ts';
import type { BellStage } from '../shared/bell-report.ts';
import { magnitude } from '../shared/complex.ts';
import { formatValue } from '../shared/format-value.ts';
import { dbuToPeakVolts, lineLevelDbu } from '../shared/levels.ts';
import { logarithmicHertz, nodeResponses } from '../shared/node-responses.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, hasCore, leg, riseAmperes } from './circuit.ts';

/** Frequencies at which the current of the coil is looked at, 20 a decade. */
const bandHertz = logarithmicHertz(20, 20e3, 61);

/** Room until the coil's peak current reaches saturation, at the worst frequency; before drive. */
function coreReading(values: StageValues): readonly StageReading[] {
  if (!hasCore(values)) return [];
  const v = numbersOf(values);
  const amperes = nodeResponses(circuit(values, null)).between(bandHertz, 'winding').map((h) => (magnitude(h) / v('windingOhms')) * dbuToPeakVolts(lineLevelDbu));
  const most = Math.max(...amperes);
  const rise = (v('coreRise') * most) / riseAmperes;
  return [{
    label: 'headroom of the core', value: ratioToDecibels(v('saturationAmperes') / most), quantity: 'gain', unit: 'dB',
    note: `${formatValue(most, 'A')} peak at ${formatValue(Number(bandHertz[amperes.indexOf(most)]!.toPrecision(2)), 'Hz')} with ${lineLevelDbu} dBu in; the inductance is up by ${Number((100 * rise).toPrecision(2))} % there`,
  }];
}

function own(values: StageValues): readonly StageReading[] {
  const v = numbersOf(values);
  const centreHz = 1 / (2 * Math.PI * Math.sqrt(v('coilHenries') * v('seriesFarads')));
  return [
    {
      label: 'Q of the inductor', value: (2 * Math.PI * centreHz * v('coilHenries')) / v('windingOhms'), quantity: 'quality', unit: '',
      note: 'reactance over winding resistance at the centre',
    },
    {
      label: 'resonance of the inductor', value: 1 / (2 * Math.PI * Math.sqrt(v('coilHenries') * v('windingFarads'))), quantity: 'frequency', unit: 'Hz',
      note: 'with its winding capacitance: above it the coil is a capacitor',
    },
    ...coreReading(values),
  ];
}

export const bell: BellStage = {
  circuit,
  leg,
  places: [{ name: 'U1', role: 'main amplifier', outNode: 'amplifier' }],
  idealIs: 'a perfect amplifier and a coil without capacitance or core',
  own,
};
