/** What a figure is measured of, made from a setting's path or from a circuit document by itself. Off the audio thread. */
import { buildProgram, type CircuitDocument, type CircuitProgram, type Grade } from '../../circuit/index.ts';
import { planPath, type PathPlan, type PathSetting, type PlannedProgram, type PlanOptions } from '../../path/index.ts';
import { dbuToPeakVolts } from '../../stages/index.ts';
import type { FigureFacts, FigureProgramme, FigureSubject } from './contract.ts';

/** Key under which a circuit document by itself stands in its plan. */
export const documentKey = 'circuit';

/** Calibration of what has no setting to say it: 0 dBFS = +24 dBu. */
const documentFullScaleDbu = 24;

export interface SettingRequest {
  readonly path: PathSetting;
  /** The probe's verdicts on the joints, as in `planPath`. */
  readonly joints: PlanOptions['joints'];
  readonly baseRateHz: number;
  readonly scope: FigureFacts['scope'];
  readonly programme: FigureProgramme | null;
  /** The view's; 'measuring' if absent. */
  readonly grade?: Grade;
  /** Programs made before, by identity; new ones are added. */
  readonly known?: Map<string, PlannedProgram>;
}

/** A path at the grade of its view, without the noise that plays. Throws PathError. */
export function subjectOfSetting({ path, joints, baseRateHz, scope, programme, grade = 'measuring', known }: SettingRequest): FigureSubject {
  const plan = planPath({ ...path, supply: null }, baseRateHz, { grade, ...(joints === undefined ? {} : { joints }), ...(known ? { known } : {}) });
  return { ...factsOfSetting({ path, baseRateHz, scope, programme: null }), plan, programme: withFrames(programme) };
}

/** What can be said of a path without planning it. */
export function factsOfSetting({ path, baseRateHz, scope, programme }: Pick<SettingRequest, 'path' | 'baseRateHz' | 'scope' | 'programme'>): FigureFacts {
  return {
    path, baseRateHz, oversamplingFactor: path.oversamplingFactor, samplePeakVolts: dbuToPeakVolts(path.fullScaleDbu), scope,
    programme: programmeFacts(withFrames(programme)),
  };
}

/** A circuit by itself: driven and read in its own volts, nothing before or behind it, its rule that of the view's grade. Throws CircuitError. */
export function subjectOfDocument(document: CircuitDocument, internalRateHz: number, programme: FigureProgramme | null = null, grade: Grade = 'measuring'): FigureSubject {
  return { ...subjectOfCircuit(buildProgram(document, { rateHz: internalRateHz, rule: grade }), programme, grade), document };
}

/** The same of a program made already. */
export function subjectOfCircuit(circuit: CircuitProgram, programme: FigureProgramme | null = null, grade: Grade = 'measuring'): FigureSubject {
  const facts = {
    baseRateHz: circuit.rateHz, oversamplingFactor: 1, samplePeakVolts: dbuToPeakVolts(documentFullScaleDbu), scope: { kind: 'path' },
  } as const;
  const plan: PathPlan = {
    grade, baseRateHz: facts.baseRateHz, oversamplingFactor: facts.oversamplingFactor, ladder: 'linear-phase', samplePeakVolts: facts.samplePeakVolts,
    stages: [{
      key: documentKey, stage: documentKey, members: [{ key: documentKey, stage: documentKey, index: 0, reversed: false }], reversed: false, polarity: 1, onTrial: false, source: null, loaded: false,
      wired: { identity: `${documentKey} ${circuit.title} ${circuit.rule} ${circuit.rateHz}`, program: { kind: 'circuit', circuit, inputGain: 1, outputGain: 1 } },
    }],
    onTrial: { kind: 'path' }, trial: null, direct: null, hum: null, trialPolarity: 1, refusedJoints: [],
  };
  return { ...facts, path: null, plan, programme: withFrames(programme) };
}

/** Without what takes long to make or to post. */
export function factsOf({ path, document, baseRateHz, oversamplingFactor, samplePeakVolts, scope, programme }: FigureSubject): FigureFacts {
  return { path, ...(document ? { document } : {}), baseRateHz, oversamplingFactor, samplePeakVolts, scope, programme: programmeFacts(programme) };
}

function withFrames(programme: FigureProgramme | null): FigureSubject['programme'] {
  return programme === null ? null : { ...programme, frames: programme.channels[0]?.length ?? 0 };
}

function programmeFacts(programme: FigureSubject['programme']): FigureFacts['programme'] {
  if (programme === null) return null;
  const { title, rateHz, frames, startSeconds } = programme;
  return { title, rateHz, frames, ...(startSeconds === undefined ? {} : { startSeconds }) };
}
