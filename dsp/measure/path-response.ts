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
  return exact ? analogueTransfer(path, planned, plannedCircuit(path, planned))(frequenciesHz) : runningTransfer(planned)(frequenciesHz);
}

/** A transfer that can be asked again and again: its operating point is found once, when it is made. Throws CircuitError. */
export type TransferAt = (frequenciesHz: readonly number[]) => readonly Complex[];

/** As `stageTransfer` of the analogue circuit, whose document is `document` (null for what is none). `path` is null where a circuit stands by itself. */
export function analogueTransfer(path: PathSetting | null, planned: PlannedStage, document: CircuitDocument | null): TransferAt {
  const { program } = planned.wired;
  switch (program.kind) {
    case 'circuit': {
      if (document === null) throw new RangeError(`${planned.key}: expected the document of its circuit, got none`);
      return scaledTransfer(exactTransferAt(document), program.inputGain * program.outputGain);
    }
    case 'linear': {
      const values = path?.stages[planned.members[0]!.index]!.values;
      const { transfer } = stageById(planned.stage);
      return values === undefined || transfer === undefined ? runningTransfer(planned) : (frequenciesHz) => transfer(values, frequenciesHz);
    }
    case 'polynomial': return unity;
  }
}

/** As `stageTransfer` of what is discretised at the internal rate. */
export function runningTransfer({ wired: { program } }: PlannedStage): TransferAt {
  switch (program.kind) {
    case 'circuit': return scaledTransfer((frequenciesHz) => discreteResponse(program.circuit, frequenciesHz), program.inputGain * program.outputGain);
    case 'linear': return (frequenciesHz) => frequenciesHz.map((hz) => linearTransfer(program, hz));
    case 'polynomial': return unity;
  }
}

const unity: TransferAt = (frequenciesHz) => frequenciesHz.map(() => ({ re: 1, im: 0 }));

const scaledTransfer = (transfer: TransferAt, gain: number): TransferAt => (frequenciesHz) => transfer(frequenciesHz).map(({ re, im }) => ({ re: gain * re, im: gain * im }));

/** One transfer behind the other, each with its sign. */
export const inSeries = (transfers: readonly { readonly transfer: TransferAt; readonly sign: 1 | -1 }[]): TransferAt => (frequenciesHz) =>
  transfers.reduce<readonly Complex[]>((product, { transfer, sign }) => cascaded(product, transfer(frequenciesHz), sign), unity(frequenciesHz));

function cascaded(before: readonly Complex[], transfer: readonly Complex[], gain: number): Complex[] {
  return before.map(({ re, im }, index) => {
    const stage = transfer[index]!;
    return { re: gain * (re * stage.re - im * stage.im), im: gain * (re * stage.im + im * stage.re) };
  });
}

function exactTransfer(document: CircuitDocument, frequenciesHz: readonly number[]): readonly Complex[] {
  return exactTransferAt(document)(frequenciesHz);
}

function exactTransferAt(document: CircuitDocument): TransferAt {
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  return (frequenciesHz) => exactResponse(system, point, frequenciesHz);
}
