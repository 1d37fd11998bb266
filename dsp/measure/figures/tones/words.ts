/** What figures of tones have in common: how they name what they are of, and what they refuse. */
import { stageById } from '../../../stages/index.ts';
import { kilohertz, type TonesOscillation } from '../../tones/index.ts';
import type { FigureColumn, FigureFacts } from '../contract.ts';

/** "whole path", "2 Push-pull output stage". */
export function scopeWords({ path, scope }: FigureFacts): string {
  if (path === null) return 'circuit document';
  if (scope.kind === 'path') return 'whole path';
  return stageWords({ path }, scope.key);
}

function stageWords({ path }: Pick<FigureFacts, 'path'>, key: string): string {
  const index = path?.stages.findIndex((stage) => stage.key === key) ?? -1;
  return index < 0 ? key : `${index + 1} ${stageById(path!.stages[index]!.stage).title}`;
}

/** Why no tone can be sent through: null if one can. */
export function whyNoTones({ path, scope, baseRateHz, oversamplingFactor }: FigureFacts, highestHz: number): string | null {
  const rateHz = baseRateHz * oversamplingFactor;
  if (!(highestHz < rateHz / 2)) return `expected an internal rate above ${kilohertz(2 * highestHz)} for a tone at ${kilohertz(highestHz)}, got ${kilohertz(rateHz)}`;
  if (path === null) return null;
  const running = path.stages.filter(({ inCircuit }) => inCircuit);
  if (scope.kind === 'stage') return running.some(({ key }) => key === scope.key) ? null : `expected a stage that is in circuit, got ${stageWords({ path }, scope.key)}`;
  return running.length > 0 || path.surroundings !== null ? null : 'no stage is in circuit: there is nothing to measure';
}

export function oscillationSentence(facts: FigureFacts, { stageKey, spectralRadius }: TonesOscillation): string {
  const who = facts.path === null ? 'the circuit' : stageWords(facts, stageKey);
  return `${who} oscillates or is bistable (spectral radius of a period ${spectralRadius.toPrecision(4)}): no tone can be measured through it`;
}

/** "+4.0 dBu" */
export function signedDbu(dbu: number): string {
  return `${signed(dbu, 1)} dBu`;
}

/** With a true minus and a plus. */
export function signed(value: number, digits: number): string {
  const written = Math.abs(value).toFixed(digits);
  return Number(written) === 0 ? written : `${value < 0 ? '−' : '+'}${written}`;
}

/** "0.052 % (−65.7 dB)"; what lies under the floor has no figure. */
export function ratioWords(ratio: number, db: number, floorDb: number): string {
  return db > floorDb ? `${Number((100 * ratio).toPrecision(3))} % (${decibels(db)})` : `under ${decibels(floorDb)}`;
}

/** "−65.7 dB" */
export function decibels(db: number): string {
  return `${db < 0 ? '−' : ''}${Math.abs(db).toFixed(1)} dB`;
}

export const column = {
  text: (label: string): FigureColumn => ({ label, unit: '', written: 'plain', digits: 0 }),
  count: (label: string): FigureColumn => ({ label, unit: '', written: 'plain', digits: 0 }),
  hertz: (label = 'frequency'): FigureColumn => ({ label, unit: 'Hz', written: 'prefixed', digits: 5 }),
  decibels: (label: string): FigureColumn => ({ label, unit: 'dB', written: 'plain', digits: 1 }),
  percent: (label: string): FigureColumn => ({ label, unit: '%', written: 'plain', digits: 5 }),
  volts: (label: string): FigureColumn => ({ label, unit: 'V', written: 'prefixed', digits: 4 }),
} as const;

