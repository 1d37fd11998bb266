/** What a render is asked for and what is told of it, be it of a recording or of a logged performance. */
import type { OnTrial, PathPlan, PathRenderer, PathSetting } from '../../dsp/path/index.ts';
import type { EncodeCounts, SampleEncoding, WavSamples } from '../../dsp/recording/index.ts';
import { stageRules } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';

export const grades = ['listening', 'measuring'] as const;
type Grade = (typeof grades)[number];

export interface RenderRequest {
  readonly setting: Setting;
  readonly inputPath: string;
  readonly outputPath: string;
  readonly grade: Grade;
  /** As the input's where undefined. */
  readonly encoding: SampleEncoding | undefined;
  /** What is taken away of one stage; absent: nothing. */
  readonly without?: Extract<OnTrial, { readonly kind: 'without' }>;
}

export type RenderReport = ReturnType<typeof renderReport>;

/** What is told of a finished render; `plan` is what it began with. */
export function renderReport(
  path: PathSetting, plan: PathPlan, renderer: PathRenderer, samples: WavSamples, frames: number, sha256: string, { clippedSamples }: EncodeCounts,
) {
  const counters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };
  renderer.runner.readCounters(counters);
  const { rescues, capHits, nonFinite } = counters;
  const rules = stageRules(path, plan);
  return {
    frames,
    channels: samples.channelCount,
    rateHz: samples.rateHz,
    encoding: samples.encoding,
    sha256,
    clippedSamples,
    solver: { meanIterations: counters.samples > 0 ? counters.evaluations / counters.samples : 0, rescues, capHits, nonFinite },
    stages: path.stages.map(({ stage, inCircuit }, index) => ({ stage, inCircuit, ...(rules[index] ?? { rule: null, errorDb: null }) })),
  };
}
