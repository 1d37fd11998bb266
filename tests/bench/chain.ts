/**
 * The chain whose speed is measured: common emitter → op-amp loop → push-pull → transformer and line → common emitter, stereo, 48 kHz × 8, as the product's own path with everything a path does (resampling
 * of the sound and of the dry signal beside it, gains, the switch). Each circuit is driven at its nominal level. The common emitters feed the next stage over two metres of screened wire (220 pF, where the
 * document judged for accuracy has a line of 1 nF): with that the listening grade takes T1 for them, with 1 nF T12. Runs in Node and on an audio thread alike.
 */
import { buildProgram } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, Grade, IntegrationRule } from '../../dsp/circuit/index.ts';
import { sin } from '../../dsp/math/index.ts';
import { PathRunner } from '../../dsp/path/index.ts';
import type { PathPlan, PlannedStage } from '../../dsp/path/index.ts';
import { dbuToPeakVolts } from '../../dsp/stages/index.ts';
import { baseRateHz, benchCircuits, convergedAt, factor, fileOf, internalRateHz } from './circuits.ts';
import type { BenchCircuit } from './circuits.ts';

export const blockFrames = 128;
export const blockMilliseconds = (1000 * blockFrames) / baseRateHz;
const samplePeakVolts = dbuToPeakVolts(24);
/** Between the circuits. */
const betweenPeakVolts = dbuToPeakVolts(4);

/** Of a common emitter in the chain. */
const wireFarads = 2.2e-10;

const order = ['common-emitter', 'op-amp-loop', 'push-pull', 'transformer-line', 'common-emitter'] as const;

export function chainPlan(rule: IntegrationRule | Grade, names: readonly (keyof typeof benchCircuits)[] = order): PathPlan {
  const stages = names.map((name, index) => plannedStage(benchCircuits[name], rule, index));
  const grade = rule === 'measuring' ? 'measuring' : 'listening';
  return { grade, baseRateHz, oversamplingFactor: factor, ladder: 'linear-phase', samplePeakVolts, stages, onTrial: { kind: 'path' }, trial: null, direct: null, hum: null, trialPolarity: 1, refusedJoints: [] };
}

/** Another topology in the place of the second circuit. */
export const changedChainPlan = (rule: IntegrationRule | Grade): PathPlan => chainPlan(rule, ['common-emitter', 'transformer-line', 'push-pull', 'op-amp-loop', 'common-emitter']);

function plannedStage({ name, document, nominalPeakVolts }: BenchCircuit, rule: IntegrationRule | Grade, index: number): PlannedStage {
  const circuit = buildProgram(name === 'common-emitter' ? intoWire(document) : document, { rateHz: internalRateHz, nominalPeakVolts, rule });
  const outputPeakVolts = convergedAt(fileOf(name), 'nominal', 1000).harmonics.find((harmonic) => harmonic.order === 1)!.peakVolts;
  const program = { kind: 'circuit', circuit, inputGain: nominalPeakVolts / betweenPeakVolts, outputGain: betweenPeakVolts / outputPeakVolts } as const;
  return { key: `c${index}`, stage: name, members: [{ key: `c${index}`, stage: name, index, reversed: false }], reversed: false, polarity: 1, onTrial: false, source: null, loaded: false, wired: { identity: `${name} ${circuit.rule}`, program } };
}

const intoWire = (document: CircuitDocument): CircuitDocument => ({
  ...document, components: document.components.map((part) => (part.kind === 'capacitor' && part.name === 'CL' ? { ...part, farads: wireFarads } : part)),
});

const cycleFrames = 48;

/** 1 kHz at +4 dBu, the right channel 1 rad later and a little lower. */
export class ToneBlocks {
  readonly inputs: readonly [Float64Array, Float64Array] = [new Float64Array(blockFrames), new Float64Array(blockFrames)];
  readonly outputs: readonly [Float64Array, Float64Array] = [new Float64Array(blockFrames), new Float64Array(blockFrames)];
  /** One cycle, computed beforehand: its sines are no part of what is timed. */
  private readonly cycle = [0, 1].map((late) => Float64Array.from({ length: cycleFrames }, (_, k) => (
    (late === 0 ? 1 : 0.9) * (betweenPeakVolts / samplePeakVolts) * sin((2 * Math.PI * k) / cycleFrames + late)
  )));
  private frame = 0;

  /** The next block. Allocates nothing. */
  fill(): void {
    for (let channel = 0; channel < 2; channel += 1) {
      const input = this.inputs[channel]!;
      const cycle = this.cycle[channel]!;
      for (let i = 0; i < blockFrames; i += 1) input[i] = cycle[(this.frame + i) % cycleFrames]!;
    }
    this.frame = (this.frame + blockFrames) % cycleFrames;
  }
}

export const chainRunner = (plan: PathPlan): PathRunner => new PathRunner(plan, 2, blockFrames);

/** So many blocks of the tone, one after the other. */
export function runBlocks(runner: PathRunner, tone: ToneBlocks, blocks: number): void {
  for (let block = 0; block < blocks; block += 1) {
    tone.fill();
    runner.process(tone.inputs, tone.outputs, blockFrames);
  }
}
