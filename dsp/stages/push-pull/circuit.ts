/** Complementary emitter followers, biased by two equal voltages and driven through a resistance that cannot swing past a limit. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { log } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';
import { isHeated, refuseHeat, thermalParts, warmBiasVolts } from './thermal.ts';
import { earlyVolts, saturationAmperes } from './transistor-values.ts';

/** Resistance of each base, Ω; a part of its own, so that the drive limit holds the base itself. */
export const baseOhms = 10;
/** Current at which a limiting diode holds the base exactly at the limit, A. */
const limitingAmperes = 1e-3;

/**
 * Bias spread between the bases for a quiescent current, V: 2 [VT ln(IQ / (g IS)) + IQ RE (1 + 1/β) + IQ RB/β], with g = 1 + VCC/VA the Early
 * factor at rest (18 V: 1.18). Exact for matched transistors but for the fraction of a volt that the collector–base voltage lacks of the rail.
 */
export function biasSpreadVolts(values: StageValues): number {
  const v = numbersOf(values);
  const iq = v('quiescentAmperes');
  const beta = v('forwardBeta');
  const early = 1 + v('railVolts') / earlyVolts;
  return 2 * (stageThermalVolts * log(iq / (early * saturationAmperes)) + iq * v('emitterOhms') * (1 + 1 / beta) + (iq * baseOhms) / beta);
}

/** Voltage of the limiting sources: a diode's drop at `limitingAmperes` below the limit. */
function limitSourceVolts(values: StageValues): number {
  return numbersOf(values)('driveLimitVolts') - stageThermalVolts * log(limitingAmperes / saturationAmperes);
}

/** Room that must be left between a base at rest and the drive limit or the rail, V. */
const leastSwingVolts = 0.5;

/** Why the values cannot be used: a bias that the drive limit or the rail does not leave room for, or heat that runs away. */
export function refuse(values: StageValues): string | null {
  const base = biasSpreadVolts(values) / 2;
  for (const id of ['driveLimitVolts', 'railVolts']) {
    const volts = numbersOf(values)(id);
    if (volts >= base + leastSwingVolts) continue;
    return `${id}: expected at least ${formatValue(base + leastSwingVolts, 'V')}, since each base rests at ${formatValue(base, 'V')} with this quiescent current and `
      + `emitter resistor, got ${formatValue(volts, 'V')}`;
  }
  return refuseHeat(values);
}

function transistor(name: string, polarity: 'npn' | 'pnp', collector: string, base: string, emitter: string, forwardBeta: number): Component {
  return {
    kind: 'bipolar', name, polarity, collector, base, emitter, saturationAmperes, forwardBeta, reverseBeta: 1, earlyVolts, baseOhms: 0,
    emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0,
  };
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  const heated = isHeated(values);
  const halfSpread = biasSpreadVolts(values) / 2 - (heated ? warmBiasVolts(values) : 0);
  const limit = limitSourceVolts(values);
  const beta = v('forwardBeta');
  return {
    title: 'push-pull stage',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      { kind: 'resistor', name: 'RS', between: [before.node, 'drive'], ohms: v('driverOhms') },
      { kind: 'voltage-source', name: 'VB1', between: ['bias-up', 'drive'], volts: halfSpread },
      { kind: 'voltage-source', name: 'VB2', between: ['drive', 'bias-down'], volts: halfSpread },
      { kind: 'resistor', name: 'RB1', between: [heated ? 'warm-up' : 'bias-up', 'base-up'], ohms: baseOhms },
      { kind: 'resistor', name: 'RB2', between: [heated ? 'warm-down' : 'bias-down', 'base-down'], ohms: baseOhms },
      { kind: 'diode', name: 'D1', anode: 'base-up', cathode: 'limit-up', saturationAmperes, emissionCoefficient: 1 },
      { kind: 'diode', name: 'D2', anode: 'limit-down', cathode: 'base-down', saturationAmperes, emissionCoefficient: 1 },
      { kind: 'voltage-source', name: 'VL1', between: ['limit-up', 'ground'], volts: limit },
      { kind: 'voltage-source', name: 'VL2', between: ['limit-down', 'ground'], volts: -limit },
      transistor('Q1', 'npn', 'rail-up', 'base-up', 'emitter-up', beta),
      transistor('Q2', 'pnp', 'rail-down', 'base-down', 'emitter-down', beta * v('betaRatio')),
      { kind: 'resistor', name: 'RE1', between: ['emitter-up', 'out'], ohms: v('emitterOhms') },
      { kind: 'resistor', name: 'RE2', between: ['out', 'emitter-down'], ohms: v('emitterOhms') },
      { kind: 'voltage-source', name: 'VCC', between: ['rail-up', 'ground'], volts: v('railVolts') },
      { kind: 'voltage-source', name: 'VEE', between: ['rail-down', 'ground'], volts: -v('railVolts') },
      { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
      ...(heated ? thermalParts(values) : []),
    ],
    output: ['out', 'ground'],
  };
}
