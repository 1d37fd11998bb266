import { assembleCircuit, discreteResponse, exactResponse, findOperatingPoint } from '../circuit/index.ts';
import type { CircuitDocument } from '../circuit/index.ts';
import { atan2, ratioToDecibels } from '../math/index.ts';
import { plannedCircuit } from '../path/index.ts';
import type { PathPlan, PathSetting, PlannedStage } from '../path/index.ts';
import { linearTransfer, stageById } from '../stages/index.ts';

/** Small-signal transfer at one frequency, output volts per input volt. */
export interface ResponsePoint {
  readonly hz: number;
  readonly db: number;
  /** In (−180°, 180°]. */
  readonly phaseDegrees: number;
}

interface Complex {
  readonly re: number;
  readonly im: number;
}

/** Of a circuit document, as analogue: complex nodal solution at the operating point. Throws CircuitError. */
export function exactCircuitResponse(document: CircuitDocument, frequenciesHz: readonly number[]): ResponsePoint[] {
  return points(frequenciesHz, exactTransfer(document, frequenciesHz));
}

/** A transfer as level and phase. */
export function points(frequenciesHz: readonly number[], transfer: readonly Complex[]): ResponsePoint[] {
  return transfer.map(({ re, im }, index) => ({
    hz: frequenciesHz[index]!,
    db: ratioToDecibels(Math.sqrt(re * re + im * im)),
    phaseDegrees: (atan2(im, re) * 180) / Math.PI,
  }));
}

/**
 * Of a whole path, stage after stage, each loaded as it runs; without the ladder. `exact`: of the analogue circuits; otherwise as discretised
 * at the plan's internal rate. An equaliser's analogue circuit is its prototype. A shaping stage is unity for small signals by its definition.
 */
export function pathResponse(path: PathSetting, plan: PathPlan, frequenciesHz: readonly number[], { exact }: { readonly exact: boolean }): ResponsePoint[] {
  let product: Complex[] = frequenciesHz.map(() => ({ re: 1, im: 0 }));
  for (const planned of plan.stages) product = cascaded(product, stageTransfer(path, planned, frequenciesHz, exact), planned.reversed ? -1 : 1);
  return points(frequenciesHz, product);
}

/** Of what is heard in the path's place when all of it is out of circuit; unity where nothing stands round it. */
export function directResponse(path: PathSetting, { direct }: PathPlan, frequenciesHz: readonly number[], { exact }: { readonly exact: boolean }): ResponsePoint[] {
  return points(frequenciesHz, direct === null ? frequenciesHz.map(() => ({ re: 1, im: 0 })) : stageTransfer(path, direct, frequenciesHz, exact));
}

/** Of one thing that runs, level controls included, reversal not. */
export function stageTransfer(path: PathSetting, planned: PlannedStage, frequenciesHz: readonly number[], exact: boolean): readonly Complex[] {
  const { program } = planned.wired;
  switch (program.kind) {
    case 'circuit': {
      const gain = program.inputGain * program.outputGain;
      const transfer = exact ? exactTransfer(plannedCircuit(path, planned)!, frequenciesHz) : discreteResponse(program.circuit, frequenciesHz);
      return transfer.map(({ re, im }) => ({ re: gain * re, im: gain * im }));
    }
    case 'linear': {
      const analogue = exact ? stageById(planned.stage).transfer?.(path.stages[planned.members[0]!.index]!.values, frequenciesHz) : undefined;
      return analogue ?? frequenciesHz.map((hz) => linearTransfer(program, hz));
    }
    case 'polynomial': return frequenciesHz.map(() => ({ re: 1, im: 0 }));
  }
}

function cascaded(before: readonly Complex[], transfer: readonly Complex[], gain: number): Complex[] {
  return before.map(({ re, im }, index) => {
    const stage = transfer[index]!;
    return { re: gain * (re * stage.re - im * stage.im), im: gain * (re * stage.im + im * stage.re) };
  });
}

function exactTransfer(document: CircuitDocument, frequenciesHz: readonly number[]): readonly Complex[] {
  const system = assembleCircuit(document);
  return exactResponse(system, findOperatingPoint(system), frequenciesHz);
}
