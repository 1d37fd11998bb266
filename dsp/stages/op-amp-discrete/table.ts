/** Parameters of the discrete op-amp stage. */
import type { Parameter } from '../contract.ts';
import { compensation, feedbackParameters, loadParameters, opAmpDrive } from '../shared/op-amp-parameters.ts';
import { choice, current, makeUp, resistance, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  opAmpDrive(-5.32),
  ...feedbackParameters,
  current({
    id: 'tailAmperes', designator: 'IT', spoken: 'I T', label: 'tail current', shortLabel: 'tail', range: [5e-4, 4e-3], default: 2e-3,
    help: 'Of the input pair: all that can charge the compensation, so it sets the slew rate, and with the degeneration the gain-bandwidth.',
  }),
  resistance({
    id: 'degenerationOhms', designator: 'RE', spoken: 'R E', label: 'degeneration of the pair', shortLabel: 'degeneration', range: [22, 1e3], default: 100,
    help: 'In each emitter of the pair: lowers its gain, so that the same gain-bandwidth leaves more current for slewing and a straighter input.',
  }),
  compensation(120e-12),
  current({
    id: 'secondStageAmperes', designator: 'IS', spoken: 'I S', label: 'second stage', shortLabel: '2nd stage', range: [2e-3, 15e-3], default: 8e-3,
    help: 'Sink under the second stage: what the output transistor can be driven with on the way down, and how straight this stage is.',
  }),
  choice({
    id: 'outputKind', label: 'output', shortLabel: 'output', options: [['class-a', 'single-ended, class A'], ['complementary', 'complementary']], default: 'class-a',
    help: 'Single-ended: one follower over a current sink, no crossover, clips unevenly. Complementary: two followers, class A only up to twice the idle current.',
  }),
  current({
    id: 'idleAmperes', designator: 'IO', spoken: 'I O', label: 'idle current of the output', shortLabel: 'idle', range: [2e-3, 0.1], default: 0.04,
    help: 'Single-ended: the sink, the most that the output can pull. It must exceed the peak current of load and line, or there is the limit.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE6', spoken: 'R E 6', label: 'emitter resistors of the output', shortLabel: 'out emitter', range: [1, 47], default: 10,
    help: 'Of the complementary output alone: they linearise the crossover and steady the idle current.',
  }),
  voltage({
    id: 'railVolts', designator: 'VCC', spoken: 'V C C', label: 'supply rails, plus and minus', shortLabel: 'rails', range: [8, 30], default: 18,
    help: 'The two supplies; the output comes within a volt or two of them.',
  }, 1),
  ...loadParameters(47, 'Outside the loop: keeps a long line from taking the phase margin, costs level into a heavy load.', 1e-9),
  makeUp(0),
];
