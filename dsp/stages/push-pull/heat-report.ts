/** What the pair says about its heat. */
import type { StageReading, StageValues } from '../contract.ts';
import { dbuToPeakVolts, lineLevelDbu } from '../shared/levels.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';
import { isHeated, junctionVoltsPerKelvin, restKelvin, restWatts, settledKelvin, thermalLoopGain } from './thermal.ts';

const loudDbu = 20;

/** None where heat is left out. */
export function heatReadings(values: StageValues): readonly StageReading[] {
  if (!isHeated(values)) return [];
  const v = numbersOf(values);
  const settled = (dbu: number): StageReading[] => {
    const kelvin = settledKelvin(values, dbuToPeakVolts(dbu) / v('loadOhms'));
    return kelvin === null ? [] : [{
      label: `junctions at ${dbu} dBu`, value: stageTemperatureC + kelvin, quantity: 'temperature', unit: '°C', note: 'once settled under a lasting sine at the load',
    }];
  };
  return [
    {
      label: 'junctions at rest', value: stageTemperatureC + restKelvin(values), quantity: 'temperature', unit: '°C',
      note: `${Number((1000 * restWatts(values)).toPrecision(3))} mW each, surroundings at ${stageTemperatureC} °C; the quiescent current is set warm`,
    },
    ...settled(lineLevelDbu),
    ...settled(loudDbu),
    {
      label: 'thermal loop gain', value: thermalLoopGain(values, v('quiescentAmperes')), quantity: 'ratio', unit: '',
      note: `at rest; 1 runs away; ${Number((1000 * junctionVoltsPerKelvin(values)).toPrecision(3))} mV/K, of which ${Number((100 * (1 - v('tracking'))).toPrecision(3))} % is not tracked`,
    },
    { label: 'heat of the junction', value: v('junctionSeconds'), quantity: 'time', unit: 's', note: 'time constant into the sink' },
    { label: 'heat of the sink', value: v('sinkSeconds'), quantity: 'time', unit: 's', note: 'time constant into the air' },
  ];
}
