/** Why: for every harmonic, where it comes from. */
import { buildProgram, circuitAtRest, CircuitError, withoutParts } from '../../../circuit/index.ts';
import { cos, sin } from '../../../math/index.ts';
import { PathError, planWithoutMechanism, type PlannedStage } from '../../../path/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../../stages/index.ts';
import { runWithout, vectorsOf, type Replacement, type WholeRun } from '../../attribution.ts';
import { shownOrders } from '../../measure-path.ts';
import { stageHarmonics, type SteadyMemory } from '../../steady-path.ts';
import { figureView, type FigureFacts, type FigureSubject } from '../contract.ts';
import { coherentTone, internalRateHz, nothingYet, plannedIndex, refuseFrequency, refuseScope, steadyTone } from '../tone.ts';
import { whyItems, type WhyItem } from './items.ts';
import { drawWhy } from './why-drawing.ts';
import type { WhyPoints } from './why-found.ts';

interface Part {
  readonly items: readonly number[];
}

const mostOrders = 20;
const orderOptions = [{ id: 'strongest', label: 'strongest' }, ...shownOrders.map((order) => ({ id: String(order), label: `H${order}` }))];

export const whyView = figureView<Part, WhyPoints>({
  id: 'why',
  title: 'Why: where harmonics come from',
  help: 'One mechanism at a time is taken away and everything measured again: what each contributes to every harmonic, what cancels what, and what they only do together.',
  parameters: [
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the tone at the source.' }),
    makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 30], default: 4, help: 'Of the tone at the source.' }),
    makeParameter.choice({
      id: 'order', label: 'harmonic shown as vectors', shortLabel: 'harmonic', options: orderOptions.map(({ id, label }) => [id, label]), default: 'strongest', help: 'Whose contributions are drawn head to tail.',
    }),
    makeParameter.ratio({ id: 'highestOrder', label: 'highest harmonic', shortLabel: 'harmonics', range: [2, mostOrders], default: 10, help: 'Orders from 2 to this one are told apart.' }, 1, 'linear'),
  ],
  refuse: (facts, values) => {
    const refused = refuseFrequency(facts, Number(values['frequencyHz'])) ?? refuseScope(facts);
    if (refused !== null) return refused;
    if (facts.path === null && !facts.document) return 'A program by itself does not tell what it is made of: give its circuit document.';
    return whyItems(facts).length > 0 ? null : 'Nothing here bends: it is linear and makes no harmonics.';
  },
  // Dealt out in turn, so that a stage of many transistors is shared.
  split: (facts, _values, workers) => {
    const items = whyItems(facts).map((_, k) => k);
    const parts = Math.max(1, Math.min(workers, items.length));
    return Array.from({ length: parts }, (_, part) => ({ items: items.filter((k) => k % parts === part) }));
  },
  measure: measureWhy,
  draw: (facts, values, points) => drawWhy(facts, values, whyItems(facts), points),
});

/** From 2 on, below half the internal rate. */
function ordersOf(facts: FigureFacts, values: StageValues, frequencyHz: number): number[] {
  return Array.from({ length: Math.round(Number(values['highestOrder'])) - 1 }, (_, k) => k + 2).filter((order) => order * frequencyHz < internalRateHz(facts) / 2);
}

const turn = (angle: number): readonly [number, number] => [cos(angle), sin(angle)];

/** The whole is measured by every worker: a few milliseconds, and each begins where it left off. */
function* measureWhy(subject: FigureSubject, values: StageValues, { items: wanted }: Part): Generator<WhyPoints | undefined, WhyPoints> {
  const items = whyItems(subject);
  const frequency = coherentTone(subject, Number(values['frequencyHz']));
  const orders = ordersOf(subject, values, frequency.hz);
  const memory: SteadyMemory = new Map();
  const steady = yield* steadyTone(subject, { frequency, peakVolts: dbuToPeakVolts(Number(values['levelDbu'])) }, { memory });
  const target = plannedIndex(subject);
  const stages = target < 0 ? subject.plan.stages : [subject.plan.stages[target]!];
  const whole: WholeRun = { stages, steady: steady.stages, input: steady.input, cycles: frequency.cycles, memory };
  const projection = stageHarmonics(steady.stages.at(-1)!, frequency.cycles, [1, ...orders]);
  const points: WhyPoints = {
    frequencyHz: frequency.hz, orders, fundamentalPeakVolts: projection.amplitudes[0]!, whole: vectorsOf(projection, orders, turn), found: [],
  };
  if (!(points.fundamentalPeakVolts > 0)) throw new RangeError('Nothing of the tone comes out: there is no fundamental to compare with.');
  const found = [...points.found];
  yield { ...points, found: [] };
  for (const index of wanted) {
    found.push(yield* nothingYet(measureItem(subject, items[index]!, index, { whole, target, orders })));
    yield { ...points, found: [...found] };
  }
  return { ...points, found };
}

interface Run {
  readonly whole: WholeRun;
  /** Place of the stage measured alone in the plan; −1: the whole path. */
  readonly target: number;
  readonly orders: readonly number[];
}

function* measureItem(subject: FigureSubject, item: WhyItem, index: number, { whole, target, orders }: Run): Generator<void, WhyPoints['found'][number]> {
  let replacement: Replacement | null;
  try {
    replacement = replacementOf(subject, item, Math.max(0, target));
  } catch (error) {
    if (!isRefusal(error)) throw error;
    return { index, without: null, gainDb: NaN, refusal: error.message };
  }
  yield;
  // Nothing that runs has it: what is taken away is not there.
  if (replacement === null) return { index, without: vectorsOf(stageHarmonics(whole.steady.at(-1)!, whole.cycles, [1, ...orders]), orders, turn), gainDb: 0, refusal: null };
  const run = yield* runWithout(whole, replacement, orders);
  if (run.oscillates !== null) return { index, without: null, gainDb: NaN, refusal: 'without it there is no steady state' };
  return { index, without: vectorsOf(run.projection, orders, turn), gainDb: run.gainDb, refusal: null };
}

const isRefusal = (error: unknown): error is PathError | CircuitError => error instanceof PathError || error instanceof CircuitError;

function replacementOf({ path, plan, document }: FigureSubject, { key, removal }: WhyItem, offset: number): Replacement | null {
  if (path !== null) {
    const trial = planWithoutMechanism(path, plan, { key, removal });
    return trial === null ? null : { first: trial.first - offset, end: trial.end - offset, without: trial.without };
  }
  const stage = plan.stages[0]!;
  const { program } = stage.wired;
  if (document === undefined || program.kind !== 'circuit' || removal.kind !== 'circuit') return null;
  const circuit = buildProgram(withoutParts(circuitAtRest(document), removal.of), { rateHz: program.circuit.rateHz, rule: program.circuit.rule });
  const without: PlannedStage = { ...stage, wired: { identity: `without ${JSON.stringify(removal.of)}`, program: { ...program, circuit } } };
  return { first: 0, end: 1, without: [without] };
}
