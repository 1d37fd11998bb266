/** Noise of a path: what each stage adds, what reaches the output, and how far that lies below what the stage can take. Small signals; off the audio thread. */
import { integrateDensity, mechanismWords, noiseFigures, noiseFrequencies, type CircuitNoise, type NoiseShare } from '../circuit/index.ts';
import { analyseNoise, isSourceNetwork, ownDensity, plannedCircuit, type PathPlan, type PathSetting, type PlannedStage } from '../path/index.ts';
import type { StageProgram, StageReading, StageRemark } from '../stages/index.ts';
import { stageTransfer } from './path-response.ts';
import { dbuOfRms, namesOf, partName } from './stage-names.ts';

/** Where nothing says otherwise, °C. */
const ordinaryTemperatureC = 27;
/** One grid for all: the audible band with its ends, and on to where harmonics of its tones lie. */
const bandHz = noiseFrequencies();
const beyondHz = noiseFrequencies(20_000, 200_000).slice(1);
const gridHz: readonly number[] = [...bandHz, ...beyondHz];

export interface StageNoise {
  readonly key: string;
  readonly title: string;
  /** Null for what is no circuit: it adds nothing. */
  readonly noise: CircuitStageNoise | null;
}

export interface CircuitStageNoise {
  /** Of its own parts at its output, make-up included, 20 Hz – 20 kHz. */
  readonly outputDbu: number;
  /** The same as it arrives at the path's output. */
  readonly atPathOutputDbu: number;
  /** At the stage's input, drive included: output over the gain at 1 kHz. Null without gain. */
  readonly inputDbu: number | null;
  readonly inputVoltsPerRootHz: number | null;
  /** Over the output network of what drives it, at 290 K; null where that makes no noise. */
  readonly noiseFigureDb: number | null;
  readonly spotNoiseFigureDb: number | null;
  /** By how much what plays may be off from its density, 20 Hz – 20 kHz, in the shape it was fitted with; null where `plan` has no noise. */
  readonly fitErrorDb: number | null;
  /** Strongest first. */
  readonly largest: readonly NoiseShare[];
}

export interface PathNoise {
  readonly temperatureC: number;
  /** Source to load; surroundings among them. */
  readonly stages: readonly StageNoise[];
  /** At the path's output, 20 Hz – 20 kHz; −∞ where nothing makes noise. */
  readonly outputDbu: number;
  /** At the source: output over the gain of the whole path at 1 kHz. */
  readonly inputDbu: number | null;
  /** At the path's output, V²/Hz, 20 Hz to 200 kHz. */
  readonly hz: readonly number[];
  readonly density: Float64Array;
}

/** Made once a program and temperature: a value that is turned costs its own stage. */
const found = new WeakMap<StageProgram, { readonly temperatureC: number; readonly noise: CircuitNoise | null }>();

/** Of the stages that run in `plan`, made from `path`; at the temperature of its supply, 27 °C without one. */
export function pathNoise(path: PathSetting, plan: PathPlan): PathNoise {
  const temperatureC = (path.supply?.['temperatureC'] as number | undefined) ?? ordinaryTemperatureC;
  const own = plan.stages.map((planned) => ownNoise(path, planned, temperatureC));
  const gains = plan.stages.map((planned) => stageTransfer(path, planned, gridHz, true).map(({ re, im }) => re * re + im * im));
  // |transfer|² from each stage's output to the path's, last first.
  const behind: Float64Array[] = [];
  let rest = new Float64Array(gridHz.length).fill(1);
  for (let k = plan.stages.length - 1; k >= 0; k -= 1) {
    behind[k] = rest;
    rest = rest.map((square, f) => square * gains[k]![f]!);
  }
  const density = new Float64Array(gridHz.length);
  const stages = plan.stages.map((planned, k): StageNoise => {
    const names = namesOf(path, planned);
    const noise = own[k];
    const { program } = planned.wired;
    if (!noise || program.kind !== 'circuit') return { ...names, noise: null };
    const square = program.outputGain * program.outputGain;
    const arriving = ownDensity(noise).map((each, f) => each * square * behind[k]![f]!);
    arriving.forEach((each, f) => { density[f] = density[f]! + each; });
    const figures = noiseFigures(noise, { isSource: isSourceNetwork });
    const atInput = (volts: number | null): number | null => (volts === null ? null : volts / program.inputGain);
    const inputVolts = atInput(figures.inputVolts);
    return {
      ...names,
      noise: {
        outputDbu: dbuOfRms(figures.ownVolts * program.outputGain),
        atPathOutputDbu: dbuOfRms(bandVolts(arriving)),
        inputDbu: inputVolts === null ? null : dbuOfRms(inputVolts),
        inputVoltsPerRootHz: atInput(figures.inputVoltsPerRootHz),
        noiseFigureDb: figures.noiseFigureDb,
        spotNoiseFigureDb: figures.spotNoiseFigureDb,
        fitErrorDb: planned.noise?.shape?.errorDb ?? null,
        largest: figures.largest.map((share) => ({ ...share, component: partName(planned, share.component), volts: share.volts * program.outputGain })),
      },
    };
  });
  const volts = bandVolts(density);
  const whole = Math.sqrt(rest[nearestTo(1000)]!);
  return { temperatureC, stages, outputDbu: dbuOfRms(volts), inputDbu: whole > 0 && volts > 0 ? dbuOfRms(volts / whole) : null, hz: gridHz, density };
}

function ownNoise(path: PathSetting, planned: PlannedStage, temperatureC: number): CircuitNoise | null {
  const { program } = planned.wired;
  const before = found.get(program);
  if (before?.temperatureC === temperatureC) return before.noise;
  const document = program.kind === 'circuit' ? plannedCircuit(path, planned) : null;
  const noise = document === null ? null : analyseNoise(document, gridHz, temperatureC);
  found.set(program, { temperatureC, noise });
  return noise;
}

function bandVolts(density: Float64Array): number {
  return Math.sqrt(integrateDensity(bandHz, density));
}

function nearestTo(frequencyHz: number): number {
  return gridHz.reduce((best, hz, k) => (Math.abs(hz - frequencyHz) < Math.abs(gridHz[best]! - frequencyHz) ? k : best), 0);
}

/** From the noise in 20 Hz – 20 kHz to where the output clips; null where it does not. */
export function dynamicRangeDb(noise: CircuitStageNoise, clipDbu: number | null): number | null {
  return clipDbu === null ? null : clipDbu - noise.outputDbu;
}

/** "RS, thermal noise (61 %)". */
export function shareInWords({ component, mechanism, share }: NoiseShare): string {
  return `${component}, ${mechanismWords[mechanism]} (${share >= 0.0995 ? (100 * share).toFixed(0) : (100 * share).toPrecision(2)} %)`;
}

/** What a margin shows of a stage's noise. */
export function noiseReadings(noise: CircuitStageNoise, clipDbu: number | null): { readonly readings: readonly StageReading[]; readonly remarks: readonly StageRemark[] } {
  const range = dynamicRangeDb(noise, clipDbu);
  const readings: StageReading[] = [
    { label: 'noise at the output', value: noise.outputDbu, quantity: 'level', unit: 'dBu', note: '20 Hz to 20 kHz, unweighted, of its own parts' },
    ...(noise.inputDbu === null ? [] : [{ label: 'equivalent input noise', value: noise.inputDbu, quantity: 'level' as const, unit: 'dBu', note: '20 Hz to 20 kHz, by the gain at 1 kHz' }]),
    ...(noise.inputVoltsPerRootHz === null ? [] : [{ label: 'input noise density', value: noise.inputVoltsPerRootHz, quantity: 'voltage' as const, unit: 'V', note: 'for each √Hz, at 1 kHz' }]),
    ...(noise.noiseFigureDb === null ? [] : [{ label: 'noise figure', value: noise.noiseFigureDb, quantity: 'gain' as const, unit: 'dB', note: 'over the noise of what drives it, at 290 K' }]),
    ...(range === null ? [] : [{ label: 'dynamic range', value: range, quantity: 'gain' as const, unit: 'dB', note: 'from the noise to where the output clips' }]),
  ];
  return { readings, remarks: noise.largest.length === 0 ? [] : [{ label: 'noise comes from', words: noise.largest.map(shareInWords).join('; ') }] };
}
