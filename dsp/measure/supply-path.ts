/** The supply of a path: what its rails carry, how much of it each stage lets through, and what one stage hears of another through it. Small signals; off the audio thread. */
import { assembleCircuit, exactResponse, findOperatingPoint, railResponses, type Complex, type RailResponse } from '../circuit/index.ts';
import { ratioToDecibels } from '../math/index.ts';
import {
  plannedCircuit, rippleAtOutput, rippleHertz, rippleOrders, sharedImpedance, sharedRails, supply as supplySheet, writeQuantity, type PathPlan, type PathSetting, type PlannedStage, type SharedRail,
} from '../path/index.ts';
import type { StageReading, StageRemark, StageValues } from '../stages/index.ts';
import { stageTransfer } from './path-response.ts';
import { dbuOfRms, namesOf, partName } from './stage-names.ts';

/** Where rejection and coupling are stated, Hz. */
export const supplyHz: readonly [number, number, number] = [100, 1000, 10_000];

export interface RailRejection {
  readonly component: string;
  readonly volts: number;
  /** Drawn at rest. */
  readonly amperes: number;
  /** How far the output lies below what is on the rail, make-up included, at `supplyHz`; negative where it is amplified. */
  readonly rejectionDb: readonly number[];
}

export interface StageSupply {
  readonly key: string;
  readonly title: string;
  /** None for what is no circuit, or draws nothing. */
  readonly rails: readonly RailRejection[];
  /** Ripple at its output, all harmonics together; −∞ where the rails cancel to less than −200 dBu; null without rails. */
  readonly rippleDbu: number | null;
}

/** What is heard of one stage in another through the rails they share. */
export interface RailCoupling {
  readonly from: string;
  readonly to: string;
  /** At the output of `to` beside the signal at the output of `from`, at `supplyHz`. */
  readonly db: readonly number[];
}

export interface PathSupply {
  /** The values it was computed with: the path's own, or those of the sheet where it has none. */
  readonly values: StageValues;
  readonly rails: readonly SharedRail[];
  readonly stages: readonly StageSupply[];
  /** Each pair that shares a rail, strongest at 1 kHz first. */
  readonly couplings: readonly RailCoupling[];
  /** Of all stages at the path's output, harmonic by harmonic with its phase; null where no stage has rails. */
  readonly rippleDbu: number | null;
}

/** Said wherever these figures stand. */
export const supplyRemark: StageRemark = {
  label: 'not modelled',
  words: 'sag and ripple that follow the signal, ripple that mixes with it in a stage\'s curve, charging that takes time, a regulator that tires at high frequencies; a stage\'s rail is as stated under its standing load',
};

/** Weaker than this a ripple is rounding. */
const leastRippleDbu = -200;
const rippleLevel = (peaks: readonly Complex[]): number => {
  const dbu = dbuOfRms(rmsOf(peaks));
  return dbu > leastRippleDbu ? dbu : -Infinity;
};

interface Analysed {
  readonly key: string;
  readonly title: string;
  readonly planned: PlannedStage;
  readonly outputGain: number;
  /** At the ripple's harmonics, then at `supplyHz`. */
  readonly rails: readonly RailResponse[];
  /** Circuit input to circuit output at `supplyHz`. */
  readonly transfer: readonly Complex[];
}

/** Of the stages that run in `plan`, made from `path`. */
export function pathSupply(path: PathSetting, plan: PathPlan): PathSupply {
  const values = path.supply ?? Object.fromEntries(supplySheet.parameters.map((parameter) => [parameter.id, parameter.default]));
  const rippleHz = Array.from({ length: rippleOrders }, (_, k) => (k + 1) * rippleHertz(values));
  const analysed = plan.stages.map((planned) => analysedStage(path, planned, rippleHz));
  const rails = sharedRails(values, analysed.map((stage) => stage.rails));
  const ripples = analysed.map((stage) => (stage.rails.length === 0 ? null : rippleAtOutput(rails, stage.rails, stage.outputGain)));
  return {
    values, rails,
    stages: analysed.map((stage, k) => ({
      key: stage.key, title: stage.title,
      rails: stage.rails.map(({ component, volts, amperes, toOutput }) => ({
        component: partName(stage.planned, component), volts, amperes, rejectionDb: supplyHz.map((_, at) => -ratioToDecibels(sizeOf(toOutput[rippleOrders + at]!) * stage.outputGain)),
      })),
      rippleDbu: ripples[k] ? rippleLevel(ripples[k].map((part) => ({ re: part.sinePeakVolts, im: part.cosinePeakVolts }))) : null,
    })),
    couplings: couplingsOf(values, analysed),
    rippleDbu: ripples.some((ripple) => ripple !== null) ? rippleAtPathOutput(path, analysed, ripples, rippleHz) : null,
  };
}

function analysedStage(path: PathSetting, planned: PlannedStage, rippleHz: readonly number[]): Analysed {
  const { program } = planned.wired;
  const names = namesOf(path, planned);
  const document = program.kind === 'circuit' ? plannedCircuit(path, planned) : null;
  if (document === null || program.kind !== 'circuit') return { ...names, planned, outputGain: 1, rails: [], transfer: [] };
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  const sign = planned.reversed ? -1 : 1;
  return { ...names, planned, outputGain: sign * program.outputGain, rails: railResponses(document, system, point, [...rippleHz, ...supplyHz]), transfer: exactResponse(system, point, supplyHz) };
}

/** Signal out of `from` → current from the rail → volts on it → output of `to`; rails of the same volts are one. */
function couplingsOf(values: StageValues, analysed: readonly Analysed[]): RailCoupling[] {
  const impedances = supplyHz.map((hz) => sharedImpedance(values, hz));
  const couplings: RailCoupling[] = [];
  for (const from of analysed) {
    for (const to of analysed) {
      if (from === to) continue;
      const pairs = from.rails.flatMap((draws) => to.rails.flatMap((hears) => (draws.volts === hears.volts && draws.drawnByInput !== null ? [{ drawn: draws.drawnByInput, heard: hears.toOutput }] : [])));
      if (pairs.length === 0) continue;
      const db = supplyHz.map((_, at) => {
        let re = 0;
        let im = 0;
        for (const { drawn, heard } of pairs) {
          const through = times(times(drawn[rippleOrders + at]!, impedances[at]!), heard[rippleOrders + at]!);
          re -= through.re;
          im -= through.im;
        }
        return ratioToDecibels((Math.sqrt(re * re + im * im) * Math.abs(to.outputGain)) / (sizeOf(from.transfer[at]!) * Math.abs(from.outputGain)));
      });
      couplings.push({ from: from.title, to: to.title, db });
    }
  }
  return couplings.sort((a, b) => b.db[1]! - a.db[1]!);
}

/** Each stage's ripple through what comes after it; they add with their phases, for all come from the same rectifier. */
function rippleAtPathOutput(path: PathSetting, analysed: readonly Analysed[], ripples: readonly (ReturnType<typeof rippleAtOutput> | null)[], rippleHz: readonly number[]): number {
  let arriving: Complex[] = rippleHz.map(() => ({ re: 0, im: 0 }));
  analysed.forEach(({ planned }, k) => {
    const transfer = stageTransfer(path, planned, rippleHz, true);
    const sign = planned.reversed ? -1 : 1;
    arriving = arriving.map((before, f) => {
      const { re, im } = times(before, transfer[f]!);
      const part = ripples[k]?.[f];
      return { re: sign * re + (part?.sinePeakVolts ?? 0), im: sign * im + (part?.cosinePeakVolts ?? 0) };
    });
  });
  return rippleLevel(arriving);
}

/** Of sines with these peaks. */
const rmsOf = (peaks: readonly Complex[]): number => Math.sqrt(peaks.reduce((sum, { re, im }) => sum + (re * re + im * im) / 2, 0));
const sizeOf = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);
const times = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });

/** Beyond this nothing gets through but rounding: ideal current sources stand on the rail. */
const completeRejectionDb = 300;
const inDecibels = (db: number): string => writeQuantity(Number(db.toFixed(1)), 'gain', 'dB');

/** What a margin shows of a stage on its rails; a rail of which nothing gets through has no rejection to show. */
export function supplyReadings({ rails, rippleDbu }: StageSupply): readonly StageReading[] {
  return [
    ...rails.flatMap(({ component, amperes, rejectionDb }): StageReading[] => [
      { label: `${component} delivers`, value: amperes, quantity: 'current', unit: 'A', note: 'at rest' },
      ...(rejectionDb.every((db) => db > completeRejectionDb) ? [] : [{
        label: `supply rejection, ${component}`, value: rejectionDb[1]!, quantity: 'gain' as const, unit: 'dB',
        note: `at 1 kHz; ${inDecibels(rejectionDb[0]!)} at 100 Hz, ${inDecibels(rejectionDb[2]!)} at 10 kHz`,
      }]),
    ]),
    ...(rippleDbu === null || !(rippleDbu > leastRippleDbu) ? [] : [{ label: 'ripple at the output', value: rippleDbu, quantity: 'level' as const, unit: 'dBu' }]),
  ];
}
