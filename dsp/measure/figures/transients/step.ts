/** Square wave in the steady state, or a single step from rest: what edges and plateaus become. */
import { dbuToPeakVolts, lineLevelDbu, makeParameter, type StageValues } from '../../../stages/index.ts';
import { steadyStageInSteps } from '../../steady-path.ts';
import { linearAxis } from '../axes.ts';
import { figureView, type Figure, type FigureFacts, type FigureSubject, type FigureTrace } from '../contract.ts';
import { internalRateHz, nothingYet, oscillation, refuseFrequency, refuseScope, scopeWords } from '../tone.ts';
import { column, hertz, percent, seconds, signedDbu, volts } from '../words.ts';
import { played, PlayedChain } from './chain.ts';
import { edgeFigures, type EdgeFigures } from './edges.ts';
import { drivenAt } from './working-level.ts';

/** The edge at which the input goes up, or the one at which it goes down. */
type Direction = 'up' | 'down';

interface StepPoints {
  readonly rateHz: number;
  /** Peak volts into what is measured. */
  readonly inputPeakVolts: number;
  /** Time from the upward edge, s, and volts at it; of a square wave one period and a little before. */
  readonly seconds: Float64Array;
  readonly input: Float64Array;
  readonly output: Float64Array;
  readonly edges: Readonly<Record<Direction, EdgeFigures>>;
}

/** Shown before the edge, a share of the plateau. */
const leadShare = 0.1;
/** An edge that is over in so many samples is the bench's own rather than the circuit's. */
const fewSamples = 2;
/** Frames of a plateau: fewer say nothing of an edge. */
const leastFrames = 8;

const parameters = [
  makeParameter.choice({ id: 'wave', label: 'wave', shortLabel: 'wave', options: [['square', 'square wave'], ['step', 'single step']], default: 'square', help: 'A square wave in its steady state, or one step from rest.' }),
  makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [1, 50_000], default: 1000, help: 'Of the square wave; a single step is shown for half a period of it.' }),
  makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 40], default: lineLevelDbu, help: 'Of a sine with the same peak, at the source.' }),
] as const;

/** Frames from one edge to the next. */
const plateauFrames = (facts: FigureFacts, values: StageValues): number => Math.round(internalRateHz(facts) / (2 * Number(values['frequencyHz'])));

export const stepView = figureView<'all', StepPoints>({
  id: 'step',
  title: 'Square wave and step',
  help: 'What becomes of an edge and of the flat behind it: rise time, overshoot, tilt, slew rate, settling.',
  parameters,
  refuse: (facts, values) => refuseFrequency(facts, leastFrames * Number(values['frequencyHz']) / 2) ?? refuseScope(facts),
  split: () => ['all'],
  measure: measureStep,
  draw,
});

function* measureStep(subject: FigureSubject, values: StageValues): Generator<undefined, StepPoints> {
  const rateHz = internalRateHz(subject);
  const frames = plateauFrames(subject, values);
  const { stages, peakVolts } = yield* drivenAt(subject, dbuToPeakVolts(Number(values['levelDbu'])));
  const lead = Math.max(2, Math.round(leadShare * frames));
  const found = values['wave'] === 'step' ? yield* singleSteps(subject, stages, peakVolts, frames, lead) : yield* squareWave(subject, stages, peakVolts, frames, lead);
  for (const { stepVolts } of [found.edges.up, found.edges.down]) {
    if (!(Math.abs(stepVolts) >= 1e-9 * peakVolts)) throw new RangeError('Nothing comes through of the edges: there is no step to measure.');
  }
  return { rateHz, inputPeakVolts: peakVolts, ...found, seconds: Float64Array.from({ length: found.input.length }, (_, k) => (k - lead) / rateHz) };
}

type Found = Pick<StepPoints, 'input' | 'output' | 'edges'>;

function* squareWave(subject: FigureSubject, stages: FigureSubject['plan']['stages'], peakVolts: number, frames: number, lead: number): Generator<undefined, Found> {
  const rateHz = internalRateHz(subject);
  let wave = Float64Array.from({ length: 2 * frames }, (_, k) => (k < frames ? peakVolts : -peakVolts));
  for (const stage of stages) {
    const solved = yield* nothingYet(steadyStageInSteps(stage, { input: wave }));
    if (solved.steady?.oscillates) throw oscillation(subject, solved);
    wave = Float64Array.from(solved.output);
  }
  const middleVolts = wave.reduce((sum, each) => sum + each, 0) / wave.length;
  const edge = (start: number): EdgeFigures => edgeFigures(wave, start, frames, { beforeVolts: wave[(start + 2 * frames - 1) % (2 * frames)]!, middleVolts, rateHz });
  const shown = (of: (k: number) => number): Float64Array => Float64Array.from({ length: lead + 2 * frames }, (_, k) => of((k - lead + 2 * frames) % (2 * frames)));
  return { input: shown((k) => (k < frames ? peakVolts : -peakVolts)), output: shown((k) => wave[k]!), edges: { up: edge(0), down: edge(frames) } };
}

/** Up and down, each from rest. */
function* singleSteps(subject: FigureSubject, stages: FigureSubject['plan']['stages'], peakVolts: number, frames: number, lead: number): Generator<undefined, Found> {
  const rateHz = internalRateHz(subject);
  const step = (sign: 1 | -1): Float64Array => Float64Array.from({ length: lead + frames }, (_, k) => (k < lead ? 0 : sign * peakVolts));
  const waves: Float64Array[] = [];
  for (const sign of [1, -1] as const) {
    const wave = step(sign);
    yield* played(new PlayedChain(stages, subject.plan.grade), wave);
    waves.push(wave);
  }
  const [up, down] = waves as [Float64Array, Float64Array];
  const edge = (wave: Float64Array): EdgeFigures => edgeFigures(wave, lead, frames, { beforeVolts: wave[lead - 1]!, middleVolts: 0, rateHz });
  return { input: step(1), output: up, edges: { up: edge(up), down: edge(down) } };
}

const perMicrosecond = (voltsPerSecond: number): string => `${Number((voltsPerSecond * 1e-6).toPrecision(3))} V/µs`;
const timed = (value: number): string => (Number.isFinite(value) ? seconds(Number(value.toPrecision(3))) : 'not reached');

function draw(facts: FigureFacts, values: StageValues, [points]: readonly (StepPoints | undefined)[]): Figure {
  const square = values['wave'] !== 'step';
  const title = `${square ? `Square wave of ${hertz(Number(values['frequencyHz']))}` : 'Step from rest'}, ${scopeWords(facts)}, ${signedDbu(Number(values['levelDbu']))}`;
  const remarks = [
    `Volts at ${hertz(internalRateHz(facts))}, without the ladder; the input goes over within one sample, ${seconds(1 / internalRateHz(facts))}, so that rise times shorter than two of them and their overshoot are the bench’s own; a slew rate of such an edge is told as “at least”: a higher factor shows more.`,
    'Rise time from 10 to 90 %; overshoot and settling from the plateau’s own curve, a parabola through its last 60 %; tilt is the fall of that curve over the plateau’s mean height.',
    ...(facts.scope.kind === 'stage' ? ['A stage alone is driven as strongly as a sine of 1 kHz reaches it in the path.'] : []),
  ];
  if (points === undefined) return { title, caption: '', panels: [], tables: [], remarks };
  const { edges: { up, down } } = points;
  const traces: FigureTrace[] = [
    { id: 'output', label: 'output', axis: 'left', role: 'main', drawn: 'line', x: points.seconds, y: points.output },
    { id: 'input', label: 'input', axis: 'right', role: 'ideal', drawn: 'line', x: points.seconds, y: points.input },
  ];
  const limited = [up, down].some(({ slewVoltsPerSecond, stepVolts }) => slewVoltsPerSecond * fewSamples > points.rateHz * Math.abs(stepVolts));
  const settles = timed(up.settlingSeconds[0]);
  return {
    title,
    caption: `Rise time ${timed(up.riseSeconds)} (falling edge ${timed(down.riseSeconds)}), overshoot ${percentOf(up.overshootRatio)}, tilt ${percentOf(up.tiltRatio)}, slew rate ${limited ? 'at least ' : ''}${perMicrosecond(up.slewVoltsPerSecond)} and ${perMicrosecond(down.slewVoltsPerSecond)}, within 1 % after ${settles}; the step is ${volts(Math.abs(up.stepVolts))}.`,
    panels: [{
      title: 'Output and input', x: { label: 'time from the edge', unit: 's', scale: 'linear', written: 'prefixed', from: points.seconds[0]!, to: points.seconds.at(-1)! },
      left: linearAxis({ label: 'output', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, traces), right: linearAxis({ label: 'input', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, traces, 'right'), traces, marks: [],
    }],
    tables: [{
      columns: [
        column.text('input goes'), column.volts('step'), { label: 'rise time', unit: 's', written: 'prefixed', digits: 4 }, { label: 'overshoot', unit: '%', written: 'plain', digits: 3 }, { label: 'tilt', unit: '%', written: 'plain', digits: 3 },
        { label: 'slew rate', unit: 'V/µs', written: 'plain', digits: 4 }, { label: 'within 1 %', unit: 's', written: 'prefixed', digits: 4 }, { label: 'within 0.1 %', unit: 's', written: 'prefixed', digits: 4 },
      ],
      rows: (['up', 'down'] as const).map((direction) => {
        const { stepVolts, riseSeconds, overshootRatio, tiltRatio, slewVoltsPerSecond, settlingSeconds } = points.edges[direction];
        return { cells: [direction, stepVolts, finite(riseSeconds), 100 * overshootRatio, 100 * tiltRatio, slewVoltsPerSecond * 1e-6, ...settlingSeconds.map(finite)] };
      }),
    }],
    remarks,
  };
}

const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);
const percentOf = (ratio: number): string => (Math.abs(ratio) < 5e-6 ? 'none' : `${ratio < 0 ? '−' : ''}${percent(Math.abs(ratio))}`);
