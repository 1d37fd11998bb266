import { assembleCircuit, discreteResponse, exactResponse, findOperatingPoint } from '../circuit/index.ts';
import type { CircuitDocument } from '../circuit/index.ts';
import { atan2, ratioToDecibels } from '../math/index.ts';
import type { PathPlan, PathSetting } from '../path/index.ts';
import { linearTransfer, stageById } from '../stages/index.ts';
import type { OutputNetwork } from '../stages/index.ts';

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
  let source: OutputNetwork | null = null;
  for (const planned of plan.stages) {
    const definition = stageById(planned.stage);
    const { values } = path.stages[planned.index]!;
    const { program } = planned.wired;
    const sign = planned.reversed ? -1 : 1;
    const document = definition.circuit(values, source);
    if (program.kind === 'circuit' && document !== null) {
      const gain = sign * program.inputGain * program.outputGain;
      product = cascaded(product, exact ? exactTransfer(document, frequenciesHz) : discreteResponse(program.circuit, frequenciesHz), gain);
    } else if (program.kind === 'linear') {
      const analogue = exact ? definition.transfer?.(values, frequenciesHz) : undefined;
      product = cascaded(product, analogue ?? frequenciesHz.map((hz) => linearTransfer(program, hz)), sign);
    } else {
      product = product.map(({ re, im }) => ({ re: sign * re, im: sign * im }));
    }
    source = definition.outputNetwork(values);
  }
  return points(frequenciesHz, product);
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
