/** What the push-pull stage says about itself at rest. */
import { assembleCircuit, findOperatingPoint } from '../../circuit/index.ts';
import { log, ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageReading, StageRemark, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { dbuToPeakVolts, lineLevelDbu, peakVoltsToDbu } from '../shared/levels.ts';
import { parallel } from '../shared/small-signal.ts';
import { stageThermalVolts } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';
import { baseOhms, biasSpreadVolts, circuit } from './circuit.ts';
import { heatReadings } from './heat-report.ts';
import { earlyVolts, saturationAmperes } from './transistor-values.ts';

/** A side counts as turned off when its emitter current has fallen to this share of its quiescent value. */
const turnedOffShare = 0.1;

/** Currents of the two emitters and the voltage at the load, all at direct current. */
interface Rest {
  readonly upperAmperes: number;
  readonly lowerAmperes: number;
  readonly loadVolts: number;
}

/** The circuit at rest with `inputVolts` at its input. */
function restAt(values: StageValues): (inputVolts: number) => Rest {
  const system = assembleCircuit(circuit(values, null));
  const ohms = numbersOf(values)('emitterOhms');
  const row = (node: string): number => system.nodeNames.indexOf(node);
  const [up, out, down] = [row('emitter-up'), row('out'), row('emitter-down')];
  return (inputVolts) => {
    const { w } = findOperatingPoint(system, inputVolts);
    return { upperAmperes: (w[up]! - w[out]!) / ohms, lowerAmperes: (w[out]! - w[down]!) / ohms, loadVolts: w[out]! };
  };
}

/** Level of a sine at the load whose peak just turns one side off, dBu; null: the pair stays in class A up to the drive limit. */
function turnOffDbu(values: StageValues): number | null {
  const rest = restAt(values);
  const threshold = rest(0).lowerAmperes * turnedOffShare;
  let on = 0;
  let off = numbersOf(values)('driveLimitVolts');
  const last = rest(off);
  if (last.lowerAmperes > threshold) return null;
  let loadVolts = last.loadVolts;
  // Bisection to 0.2 % of the level, 0.02 dB.
  while (off - on > 0.002 * off) {
    const middle = (on + off) / 2;
    const at = rest(middle);
    if (at.lowerAmperes > threshold) on = middle;
    else {
      off = middle;
      loadVolts = at.loadVolts;
    }
  }
  return peakVoltsToDbu(loadVolts);
}

/** Output resistance of the pair at rest without its load: each side its emitter resistor, 1/gm, and the driver divided by β. */
function pairOhms(values: StageValues, upperAmperes: number, lowerAmperes: number): number {
  const v = numbersOf(values);
  const early = 1 + v('railVolts') / earlyVolts;
  const side = (amperes: number, beta: number): number => {
    const gain = beta * early + 1;
    return v('emitterOhms') + stageThermalVolts / amperes + baseOhms / gain;
  };
  // The driver feeds both bases at once, so its part is shared: seen from the output it is RS over the sum of both gains' share.
  const beta = v('forwardBeta');
  const upper = side(upperAmperes, beta);
  const lower = side(lowerAmperes, beta * v('betaRatio'));
  const pair = parallel(upper, lower);
  const gain = 1 / (pair / upper / (beta * early + 1) + pair / lower / (beta * v('betaRatio') * early + 1));
  return pair + v('driverOhms') / gain;
}

export function outputNetwork(values: StageValues): OutputNetwork {
  const at = restAt(values)(0);
  return {
    from: 'electromotive',
    to: 'out',
    components: [
      { kind: 'resistor', name: 'RO', between: ['electromotive', 'out'], ohms: pairOhms(values, at.upperAmperes, at.lowerAmperes) },
      { kind: 'resistor', name: 'RL', between: ['electromotive', 'out'], ohms: numbersOf(values)('loadOhms') },
    ],
  };
}

/** The class in words, from where one side turns off. */
function classInWords(turnOff: number | null, emitterVolts: number): string {
  if (turnOff === null) return 'A: up to the drive limit';
  if (turnOff >= lineLevelDbu) return 'AB: A at +4 dBu, B above the level where one side turns off';
  if (emitterVolts < stageThermalVolts / 10) return 'near B: the crossover is passed at every level';
  return 'AB: B already at +4 dBu';
}

/** Peak at the load when the base is at its limit: less the junction's drop at that current, divided by emitter resistor and load. */
function limitedPeakVolts(values: StageValues): number {
  const v = numbersOf(values);
  const limit = Math.min(v('driveLimitVolts'), v('railVolts'));
  const junction = stageThermalVolts * log(limit / v('loadOhms') / saturationAmperes);
  return (Math.max(0, limit - junction) * v('loadOhms')) / (v('loadOhms') + v('emitterOhms'));
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const upperVolts = analysis.volts('emitter-up') - analysis.volts('out');
  const lowerVolts = analysis.volts('out') - analysis.volts('emitter-down');
  const turnOff = turnOffDbu(values);
  const mean = (upperVolts + lowerVolts) / 2;
  const times = Number((mean / stageThermalVolts).toPrecision(2));
  const readings: readonly StageReading[] = [
    { label: 'quiescent current', value: mean / v('emitterOhms'), quantity: 'current', unit: 'A' },
    {
      label: 'across each RE', value: mean, quantity: 'voltage', unit: 'V',
      note: `emitter resistor: ${times} kT/q (26 mV); the small-signal third harmonic vanishes near half of kT/q`,
    },
    { label: 'bias spread', value: biasSpreadVolts(values), quantity: 'voltage', unit: 'V', note: 'between the bases' },
    ...(turnOff === null ? [] : [{
      label: 'one side turns off', value: turnOff, quantity: 'level' as const, unit: 'dBu',
      note: `peak at the load that leaves ${turnedOffShare * 100} % of the quiescent current in one side`,
    }]),
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive and make-up included',
    },
    {
      label: 'headroom to rail', value: ratioToDecibels(limitedPeakVolts(values) / dbuToPeakVolts(lineLevelDbu)), quantity: 'gain', unit: 'dB',
      note: `above +4 dBu at the load, before make-up; ${v('driveLimitVolts') <= v('railVolts') ? 'the base drive' : 'the rail'} comes first`,
    },
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, at rest, standing load included' },
    ...heatReadings(values),
  ];
  const remarks: readonly StageRemark[] = [{ label: 'class', words: classInWords(turnOff, mean) }];
  return { readings, remarks };
}
