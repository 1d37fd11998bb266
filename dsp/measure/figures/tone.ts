/** The harmonics of a figure's subject for one tone: what several views measure, in steps, with sentences where there are none. Off the audio thread. */
import { figuresOfProjection, projectHarmonics, chooseFrequency, cosineDrive, type CoherentFrequency, type HarmonicFigures } from '../../circuit/index.ts';
import { stageById } from '../../stages/index.ts';
import { stageHarmonics, steadyStageInSteps, type SteadyMemory, type SteadyStage } from '../steady-path.ts';
import type { FigureFacts, FigureSubject } from './contract.ts';

/** Internal rate, base rate × factor. */
export const internalRateHz = ({ baseRateHz, oversamplingFactor }: Pick<FigureFacts, 'baseRateHz' | 'oversamplingFactor'>): number => baseRateHz * oversamplingFactor;

/** "2 Push-pull stage" of a stage of the path; "the circuit" of a document; the key where it is neither. */
export function stageName({ path }: Pick<FigureFacts, 'path'>, key: string): string {
  if (path === null) return 'the circuit';
  const index = path.stages.findIndex((stage) => stage.key === key);
  return index < 0 ? key : `${index + 1} ${stageById(path.stages[index]!.stage).title}`;
}

/** "whole path", "stage 2 Push-pull stage", "circuit by itself": of a figure's title. */
export function scopeWords(facts: Pick<FigureFacts, 'path' | 'scope'>): string {
  if (facts.path === null) return 'circuit by itself';
  return facts.scope.kind === 'path' ? 'whole path' : `stage ${stageName(facts, facts.scope.key)}`;
}

/** Why there is nothing to measure: no stage in circuit, or the wanted one is out of it. Null where there is something. */
export function refuseScope({ path, scope }: Pick<FigureFacts, 'path' | 'scope'>): string | null {
  if (path === null) return null;
  if (scope.kind === 'path') {
    return path.surroundings !== null || path.stages.some(({ inCircuit }) => inCircuit) ? null : 'No stage is in circuit: the path is a wire and adds nothing. Switch one in.';
  }
  const index = path.stages.findIndex(({ key }) => key === scope.key);
  if (index < 0) return 'No stage is open: open one to measure it at its working level.';
  return path.stages[index]!.inCircuit ? null : `Stage ${index + 1} is out of circuit: switch it in to measure it at its working level.`;
}

/** Why a tone cannot be had at the internal rate; null where it can. */
export function refuseFrequency(facts: FigureFacts, frequencyHz: number): string | null {
  const limitHz = internalRateHz(facts) / 4;
  return frequencyHz > 0 && frequencyHz <= limitHz ? null : `frequency: expected more than 0 and at most ${limitHz} Hz (a quarter of the internal rate), got ${frequencyHz} Hz`;
}

/** Place of the scope's stage in the plan; −1 for the whole path. Throws RangeError where it is not in circuit. */
export function plannedIndex({ plan, scope }: Pick<FigureSubject, 'plan' | 'scope'>): number {
  if (scope.kind === 'path') return -1;
  const index = plan.stages.findIndex(({ members }) => members.some(({ key }) => key === scope.key));
  if (index < 0) throw new RangeError(`stage: expected one in circuit (${plan.stages.flatMap(({ members }) => members.map(({ key }) => key)).join(', ')}), got ${scope.key}`);
  return index;
}

export interface Tone {
  readonly frequency: CoherentFrequency;
  /** At the source, a cosine. */
  readonly peakVolts: number;
}

/** What the subject puts out for a tone, in the steady state. */
export interface ToneSteady {
  readonly frequency: CoherentFrequency;
  /** Input volts of what is measured: the tone at the source, or the fundamental that reaches a stage alone. */
  readonly input: Float64Array;
  readonly inputPeakVolts: number;
  /** One period in volts at the internal rate, DC of rest removed. */
  readonly output: Float64Array;
  /** Of all that was measured, from source to load; a stage alone: that one. */
  readonly stages: readonly SteadyStage[];
}

export interface SteadyToneOptions {
  /** Carries solutions from one tone to the next. Absent: each is found from rest, and its bits depend on nothing else. */
  readonly memory?: SteadyMemory;
  /** Default true. False where a neighbouring tone's has been looked at: only what oscillates at rest or finds no period is then told from what repeats itself. */
  readonly wantSpectralRadius?: boolean;
}

/**
 * One period of what a subject puts out; a stage alone is driven by a pure cosine as strong as the fundamental that reaches it in the path. Yields between passes over the period. Throws RangeError with a
 * sentence where a stage oscillates or is bistable.
 */
export function* steadyTone(subject: FigureSubject, { frequency, peakVolts }: Tone, { memory, wantSpectralRadius = true }: SteadyToneOptions = {}): Generator<undefined, ToneSteady> {
  const target = plannedIndex(subject);
  const { plan } = subject;
  const { cycles } = frequency;
  const input = cosineDrive(frequency, peakVolts);
  const stages: SteadyStage[] = [];
  let output = input;
  for (const stage of target < 0 ? plan.stages : plan.stages.slice(0, target)) {
    const solved = yield* nothingYet(steadyStageInSteps(stage, { input: output, cycles }, memory, wantSpectralRadius));
    if (solved.steady?.oscillates) throw oscillation(subject, solved);
    ({ output } = solved);
    stages.push(solved);
  }
  if (target < 0) return { frequency, input, inputPeakVolts: peakVolts, output, stages };
  const reaching = stages.at(-1);
  const inputPeakVolts = reaching ? stageHarmonics(reaching, cycles, [1]).amplitudes[0]! : peakVolts;
  const alone = cosineDrive(frequency, inputPeakVolts);
  const last = yield* nothingYet(steadyStageInSteps(plan.stages[target]!, { input: alone, cycles }, memory, wantSpectralRadius));
  if (last.steady?.oscillates) throw oscillation(subject, last);
  return { frequency, input: alone, inputPeakVolts, output: last.output, stages: [last] };
}

/** A job's steps as those of a view that has nothing new to show. */
export function* nothingYet<T>(steps: Generator<unknown, T>): Generator<undefined, T> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    yield undefined;
  }
}

export interface ToneHarmonics extends HarmonicFigures {
  /** The frequency in fact used. */
  readonly frequencyHz: number;
  /** Of the cosine into what is measured. */
  readonly inputPeakVolts: number;
}

/**
 * Harmonics of a subject for one tone, in volts at the internal rate, without the ladder; `orders` from 2 on. Phases are relative to a cosine at the source (of a stage alone: at its input). Yields
 * between passes over the period. Throws RangeError with a sentence where there is no steady state.
 */
export function* harmonicsOf(subject: FigureSubject, tone: Tone, orders: readonly number[], options: SteadyToneOptions = {}): Generator<undefined, ToneHarmonics> {
  const steady = yield* steadyTone(subject, tone, options);
  return { frequencyHz: steady.frequency.hz, inputPeakVolts: steady.inputPeakVolts, ...toneFigures(steady, orders) };
}

/** Harmonics of a steady state found already. */
export function toneFigures({ stages, output, frequency: { cycles } }: ToneSteady, orders: readonly number[]): HarmonicFigures {
  const projected = [1, ...orders];
  const last = stages.at(-1);
  return figuresOfProjection(last ? stageHarmonics(last, cycles, projected) : projectHarmonics(output, cycles, projected), orders);
}

/** The tone nearest to what is asked for that has a period at the subject's internal rate. Throws RangeError. */
export function coherentTone(subject: Pick<FigureFacts, 'baseRateHz' | 'oversamplingFactor'>, frequencyHz: number): CoherentFrequency {
  return chooseFrequency(frequencyHz, internalRateHz(subject));
}

/** There is no steady state; the message is a sentence for the reader. */
export class NoSteadyState extends RangeError {
  /** It does not even stay at its operating point: no tone will change that. */
  readonly atRest: boolean;

  constructor(sentence: string, atRest: boolean) {
    super(sentence);
    this.atRest = atRest;
  }
}

/** Of a stage that does not repeat itself. */
export function oscillation(facts: Pick<FigureFacts, 'path'>, { key, steady }: SteadyStage): NoSteadyState {
  const name = stageName(facts, key);
  return new NoSteadyState(
    `${name === 'the circuit' ? 'The circuit' : `Stage ${name}`} oscillates or is bistable (spectral radius ${steady!.spectralRadius.toFixed(4)}): it has no harmonics.`, steady!.instances.length === 0,
  );
}

const mostCycles = 256;
/** So far may a tone be from where it was asked for, as a share of it: what a sweep does not show. */
const sweepTolerance = 1e-3;
/** Aliases of a period of at least so many samples fall on none of the first orders before some eighty have passed. */
const leastFrames = 96;

/**
 * A tone within 0.1 % of `requestedHz` with a period as short as may be, for sweeps: fewest cycles M in N ≥ `frames` samples without common divisor, so that orders beyond half the rate fold between the orders shown.
 * Throws RangeError for what is not between 0 and half the rate.
 */
export function sweepTone(rateHz: number, requestedHz: number, frames = leastFrames): CoherentFrequency {
  if (!(requestedHz > 0 && requestedHz < rateHz / 2)) throw new RangeError(`frequency: expected more than 0 and less than ${rateHz / 2} Hz (half the rate), got ${requestedHz} Hz`);
  let best: CoherentFrequency | null = null;
  for (let cycles = 1; cycles <= mostCycles; cycles += 1) {
    const nearest = Math.round((cycles * rateHz) / requestedHz);
    // A sample more or less where a whole number of them is a whole number of cycles but for a divisor.
    for (const periodFrames of [nearest, nearest + 1, nearest - 1]) {
      if (periodFrames < frames || commonDivisor(cycles, periodFrames) > 1) continue;
      const found = { cycles, periodFrames, hz: (cycles * rateHz) / periodFrames };
      if (Math.abs(found.hz - requestedHz) <= sweepTolerance * requestedHz) return found;
      if (best === null || Math.abs(found.hz - requestedHz) < Math.abs(best.hz - requestedHz)) best = found;
    }
  }
  return best!;
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}
