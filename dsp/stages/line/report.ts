/** What the line says about itself, and what it asks of its driver. */
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, StageReading, StageRemark, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { formatValue } from '../shared/format-value.ts';
import { ladderGainDb } from '../shared/ladder.ts';
import { dbuToPeakVolts } from '../shared/levels.ts';
import { capacitiveLoadMargin } from '../shared/load-margin.ts';
import { cornerHz, fullPowerHz, openLineOverLumped, slewVoltsPerSecond } from '../shared/line-physics.ts';
import { coreReadings } from '../shared/transformer-core.ts';
import { bandReadings, drivingCurrent, drivingLevelDbu, lengthReadings, signedDb } from '../shared/transformer-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, drivingOf, ladder, lineFarads, seriesOhms, transformerOf } from './circuit.ts';

/** Of the speed of light, in a polythene-insulated pair (common practice, no source). */
const velocityFactor = 0.66;

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const driving = drivingOf(values);
  const chain = ladder(values);
  const farads = lineFarads(values);
  const analysis = analyse(circuit(values, null));
  const current = drivingCurrent(chain);
  const slew = slewVoltsPerSecond(farads, v('limitAmperes'));
  const ohms = seriesOhms(values) + v('lineMetres') * v('lineOhmsPerMetre');
  const lengths = driving === 'transformer' ? lengthReadings((metres) => ladder(values, metres), v('wantedPeakDb')) : { readings: [], remarks: [] };
  const core = driving === 'transformer' ? coreReadings(transformerOf(values)) : { readings: [], remarks: [] };
  const readings: readonly StageReading[] = [
    ...bandReadings(chain, 1, program),
    { label: 'line capacitance', value: farads, quantity: 'capacitance', unit: 'F' },
    ...(driving === 'transformer' ? [] : [{
      label: 'corner with the line', value: cornerHz(ohms, farads), quantity: 'frequency' as const, unit: 'Hz', note: `${formatValue(ohms, 'Ω')} and the line’s capacitance`,
    }]),
    current,
    {
      label: 'driver’s current limit', value: drivingLevelDbu + ratioToDecibels(v('limitAmperes') / current.value), quantity: 'level', unit: 'dBu',
      note: `the driver’s own voltage at which 20 kHz takes ${formatValue(v('limitAmperes'), 'A')}`,
    },
    {
      label: 'full power to', value: fullPowerHz(slew, dbuToPeakVolts(drivingLevelDbu)), quantity: 'frequency', unit: 'Hz',
      note: `at +${drivingLevelDbu} dBu: ${formatValue(v('limitAmperes'), 'A')} slews the line at ${formatValue(slew / 1e6, 'V')}/µs`,
    },
    ...core.readings,
    ...lengths.readings,
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included, behind an ideal source' },
  ];
  return { readings, remarks: [...core.remarks, ...lengths.remarks, lumped(v('lineMetres')), ...ofDriver(values), ...comparison(values)] };
}

/** Ways to drive one line that are fair to compare: the second has the transformer's resistance without the transformer. */
const comparedWays: readonly (readonly [label: string, choices: StageValues])[] = [
  ['driven direct', { driving: 'direct' }],
  ['direct, same resistance', { driving: 'direct-same-resistance' }],
  ['through a transformer', { driving: 'transformer', damper: 'off' }],
  ['transformer, damped', { driving: 'transformer', damper: 'on' }],
];

/** The same line driven in every way: what each does at 20 kHz, what it takes there, and from which level on the driver's limit is passed. */
function comparison(values: StageValues): readonly StageRemark[] {
  const limitAmperes = numbersOf(values)('limitAmperes');
  return comparedWays.map(([label, choices]) => {
    const chain = ladder({ ...values, ...choices });
    const { value: amperes } = drivingCurrent(chain);
    const passedDbu = drivingLevelDbu + ratioToDecibels(limitAmperes / amperes);
    const rise = ladderGainDb(chain, 20e3) - ladderGainDb(chain, 1000);
    return {
      label, words: `${signedDb(rise)} at 20 kHz; +${drivingLevelDbu} dBu takes ${formatValue(Number(amperes.toPrecision(3)), 'A')} there, ${formatValue(limitAmperes, 'A')} are reached at ${Number(passedDbu.toFixed(1))} dBu`,
    };
  });
}

/** Longer lines than this are no lump at 20 kHz: the admittance is then a tenth off, m. */
const lumpedMetres = 800;

function lumped(metres: number): StageRemark {
  if (metres > lumpedMetres) return { label: 'one lump', words: `no longer: beyond ${lumpedMetres} m waves on the line show at 20 kHz, and this model has none` };
  const over = openLineOverLumped(metres, 20e3, velocityFactor) - 1;
  return { label: 'one lump', words: `at 20 kHz the line’s real admittance is ${Number((100 * over).toPrecision(2))} % larger than its capacitance’s` };
}

/** A plain integrated amplifier, for the remark on stability: 3 MHz at a noise gain of 2, an output stage of 140 Ω at rest. */
const plainAmplifier = { unityGainHz: 3e6, noiseGain: 2, outputOhms: 140, secondPoleHz: 30e6 };

/** What the way of driving means for the driver. */
function ofDriver(values: StageValues): readonly StageRemark[] {
  const farads = lineFarads(values);
  const degrees = (ohms: number): string => `${Math.round(capacitiveLoadMargin(plainAmplifier, farads, ohms).phaseMarginDegrees)}°`;
  const stability: StageRemark = {
    label: 'stability', words: `a plain integrated amplifier keeps ${degrees(0)} of phase margin before this line alone, ${degrees(seriesOhms(values))} behind ${formatValue(seriesOhms(values), 'Ω')}`,
  };
  if (drivingOf(values) === 'stage-before') return [];
  return drivingOf(values) !== 'transformer' ? [stability] : [{ label: 'driver', words: 'the transformer does not spare it: the line’s current passes through, and more at the resonance' }];
}
