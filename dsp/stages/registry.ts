/** All stages, in the order they are offered. Adding one is its folder and a line here. */
import type { StageDefinition } from './contract.ts';
import { equaliserBell } from './equaliser-bell/index.ts';
import { equaliserInductor } from './equaliser-inductor/index.ts';
import { equaliserShelf } from './equaliser-shelf/index.ts';
import { equaliser } from './equaliser/index.ts';
import { harmonicShaping } from './harmonic-shaping/index.ts';
import { lineAmplifier } from './line-amplifier/index.ts';
import { line } from './line/index.ts';
import { opAmpDiscrete } from './op-amp-discrete/index.ts';
import { opAmpIntegrated } from './op-amp-integrated/index.ts';
import { microphoneInput } from './microphone-input/index.ts';
import { pushPull } from './push-pull/index.ts';
import { singleEndedBipolar } from './single-ended-bipolar/index.ts';
import { singleEndedFieldEffect } from './single-ended-field-effect/index.ts';
import { singleEndedValve } from './single-ended-valve/index.ts';
import { summingBus } from './summing-bus/index.ts';
import { transformerInput } from './transformer-input/index.ts';
import { transformerOutput } from './transformer-output/index.ts';

export const stages: readonly StageDefinition[] = [singleEndedBipolar, singleEndedFieldEffect, singleEndedValve, pushPull, opAmpDiscrete, opAmpIntegrated, harmonicShaping, equaliser, equaliserBell, equaliserShelf, equaliserInductor, transformerInput, transformerOutput, line, lineAmplifier, microphoneInput, summingBus];

/** The stage of this identifier. Throws naming it and the known ones. */
export function stageById(id: string): StageDefinition {
  const stage = stages.find((candidate) => candidate.id === id);
  if (stage === undefined) throw new Error(`expected a stage: ${stages.map((known) => known.id).join(', ')}; got "${id}"`);
  return stage;
}
