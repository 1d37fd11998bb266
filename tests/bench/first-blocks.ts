/**
 * In a process of its own, so that nothing is warm but what the bench itself warms: the first 50 blocks of the chain after a start and after a change of topology. Prints the longest of each over the block's
 * budget, by this thread's processor time.
 */
import { Warming } from '../../worklets/warming.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import type { PathPlan, PathRunner } from '../../dsp/path/index.ts';
import { blockFrames, blockMilliseconds, chainPlan, chainRunner, changedChainPlan, ToneBlocks } from './chain.ts';
import { processorNanoseconds } from './clock.ts';

const blocks = 50;

/** As the live worker does before the audio thread gets a module. */
function warmUp(plan: PathPlan): void {
  const runner = chainRunner(plan);
  const warming = new Warming(runner);
  const buffers = [new Float64Array(blockFrames), new Float64Array(blockFrames)];
  while (!warming.done) warming.run(runner, buffers, buffers, blockFrames);
}

function worstOf(runner: PathRunner, tone: ToneBlocks): number {
  let worst = 0;
  for (let block = 0; block < blocks; block += 1) {
    tone.fill();
    const start = processorNanoseconds();
    runner.process(tone.inputs, tone.outputs, blockFrames);
    worst = Math.max(worst, 1e-6 * (processorNanoseconds() - start));
  }
  return worst / blockMilliseconds;
}

installCompiledCode();
const [first, second] = [chainPlan('listening'), changedChainPlan('listening')];
warmUp(first);
const tone = new ToneBlocks();
const runner = chainRunner(first);
const start = worstOf(runner, tone);
warmUp(second);
runner.swap(second, 1);
const change = worstOf(runner, tone);
process.stdout.write(`${JSON.stringify({ start, change })}\n`);
