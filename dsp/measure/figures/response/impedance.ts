/** What the source is loaded with and what the load is driven from: impedances at a path's or a stage's two ends. */
import { assembleCircuit, findOperatingPoint, inputImpedance, outputImpedance, type CircuitDocument, type Complex } from '../../../circuit/index.ts';
import { atan2, ratioToDecibels } from '../../../math/index.ts';
import { plannedCircuit, surroundings, writeQuantity, type PlannedStage } from '../../../path/index.ts';
import { resolveValues, stageById } from '../../../stages/index.ts';
import { frequencyAxis, linearAxis, spanOf } from '../axes.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureSubject, type FigureTrace } from '../contract.ts';
import { plannedIndex, refuseScope, scopeWords } from '../tone.ts';
import { column, decibels } from '../words.ts';
import type { StageValues } from '../../../stages/index.ts';
import { frequencies } from './curve.ts';
import { referenceHz } from './read-outs.ts';
import { rangeOf, rangeParameters, refuseRange } from './response.ts';

type End = 'input' | 'output';

interface ImpedancePoints {
  readonly end: End;
  /** Null: an ideal end, a stage that is no circuit: endless at the input, nothing at the output. */
  readonly curve: { readonly hz: readonly number[]; readonly ohms: readonly number[]; readonly phaseDegrees: readonly number[] } | null;
  /** Ω, of 1 kHz. */
  readonly reference: Complex | null;
}

const ends: readonly End[] = ['input', 'output'];
const size = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);
const degrees = ({ re, im }: Complex): number => (180 / Math.PI) * atan2(im, re);

/** As it is driven, without what stands before it or loads it from outside: its own input; or driven from what stands before it, without what is round the path: its output. */
function circuitAt({ path, plan, document, ...subject }: FigureSubject, end: End): CircuitDocument | null {
  if (path === null) return document ?? null;
  const target = plannedIndex({ plan, scope: subject.scope });
  const own = plan.stages.filter(({ members }) => members.length > 0);
  const planned: PlannedStage | undefined = target >= 0 ? plan.stages[target] : end === 'input' ? own[0] : own.at(-1);
  if (planned === undefined) return null;
  if (planned.wired.program.kind !== 'circuit') return null;
  return plannedCircuit(path, { ...planned, loaded: false, ...(end === 'input' ? { source: null } : {}) });
}

export const impedanceView = figureView<End, ImpedancePoints>({
  id: 'impedance',
  title: 'Input and output impedance',
  help: 'What the source is loaded with, and what the load is driven from, over frequency.',
  parameters: rangeParameters,
  refuse: (facts, values) => refuseRange(values) ?? refuseScope(facts) ?? refuseIdeal(facts),
  split: () => ends,
  * measure(subject, values, end) {
    const circuit = circuitAt(subject, end);
    if (circuit === null) return { end, curve: null, reference: null };
    const system = assembleCircuit(circuit);
    yield undefined;
    const point = findOperatingPoint(system);
    yield undefined;
    const ask = end === 'input' ? inputImpedance : outputImpedance;
    const [reference] = ask(system, point, [referenceHz]);
    const { fromHz, toHz, perOctave } = rangeOf(values);
    const hertz = frequencies(fromHz, toHz, perOctave);
    const ohms: number[] = [];
    const phaseDegrees: number[] = [];
    for (const hz of hertz) {
      const [found] = ask(system, point, [hz]);
      ohms.push(size(found!));
      phaseDegrees.push(degrees(found!));
      yield undefined;
    }
    return { end, curve: { hz: hertz, ohms, phaseDegrees }, reference: reference! };
  },
  draw,
});

function refuseIdeal({ path, scope }: FigureFacts): string | null {
  if (path === null) return null;
  const measured = path.stages.filter(({ key, inCircuit }) => inCircuit && (scope.kind === 'path' || key === scope.key));
  const circuits = measured.filter(({ stage, values }) => stageById(stage).circuit(values, null) !== null);
  return circuits.length > 0 ? null : 'Nothing here is a circuit: an ideal stage takes no current and has no output impedance.';
}

const written = (ohms: number): string => (Number.isFinite(ohms) ? writeQuantity(Number(ohms.toPrecision(4)), 'resistance', 'Ω') : 'endless');

function draw(facts: FigureFacts, values: StageValues, points: readonly (ImpedancePoints | undefined)[]): Figure {
  const { fromHz, toHz } = rangeOf(values);
  const come = points.filter((each) => each !== undefined);
  const drawn = come.flatMap(({ end, curve }) => (curve === null ? [] : [{ end, curve }]));
  const traces = (of: (curve: NonNullable<ImpedancePoints['curve']>) => readonly number[]): FigureTrace[] =>
    drawn.map(({ end, curve }) => ({ id: end, label: end, axis: 'left', role: end === 'input' ? 'main' : 'second', drawn: 'line', x: curve.hz, y: of(curve) }));
  const magnitude = traces(({ ohms }) => ohms.map((each) => (Number.isFinite(each) && each > 0 ? each : NaN)));
  const phase = traces(({ phaseDegrees }) => phaseDegrees);
  const x = frequencyAxis(fromHz, toHz);
  return {
    title: `Input and output impedance, ${scopeWords(facts)}`,
    caption: caption(come),
    panels: drawn.length === 0 ? [] : [
      { title: 'Magnitude', x, left: ohmAxis(magnitude), traces: magnitude, marks: [] },
      { title: 'Phase', x, left: linearAxis({ label: 'phase', unit: 'degrees', leastSpan: 20 }, phase), traces: phase, marks: [] },
    ],
    tables: [
      {
        columns: [column.text('end'), ohmColumn('magnitude at 1 kHz'), ohmColumn('resistance at 1 kHz'), ohmColumn('reactance at 1 kHz')],
        rows: come.map(({ end, reference }) => ({ cells: reference === null ? [end, end === 'input' ? Infinity : 0, null, null] : [end, size(reference), reference.re, reference.im] })),
      },
      ...drawn.map(({ end, curve }) => ({
        columns: [column.hertz('frequency'), ohmColumn(`${end}, magnitude`), { label: `${end}, phase`, unit: 'degrees', written: 'plain' as const, digits: 2 }],
        rows: curve.hz.map((hz, k) => ({ cells: [hz, curve.ohms[k]!, curve.phaseDegrees[k]!] })),
      })),
    ],
    remarks: [
      'Small signals in the analogue circuit at its operating point. The input is that of the circuit itself, without what drives it; the output is driven from what stands before it, standing load included, load of the surroundings not.',
      'Ideal level controls stand before the input and behind the output and change neither.',
      ...surroundingsWords(facts, come),
    ],
  };
}

const ohmColumn = (label: string) => ({ label, unit: 'Ω', written: 'prefixed', digits: 4 }) as const;

function ohmAxis(traces: readonly FigureTrace[]): FigureAxis {
  const [least, most] = spanOf(traces.map(({ y }) => y)) ?? [1, 1000];
  let from = 1e-6;
  while (from * 10 <= least) from *= 10;
  let to = from * 10;
  while (to < most) to *= 10;
  return { label: 'impedance', unit: 'Ω', scale: 'logarithmic', written: 'prefixed', from, to };
}

function caption(come: readonly ImpedancePoints[]): string {
  const words = come.map(({ end, reference }) => (reference === null ? `the ${end} is that of an ideal stage` : `${end} ${written(size(reference))} at 1 kHz (resistance ${written(reference.re)}${reference.re < 0 ? ', negative' : ''})`));
  return words.length === 0 ? '' : `${words.join(', ').replace(/^./, (first) => first.toUpperCase())}.`;
}

/** What the source loses into the input, and the load at the output, at 1 kHz. */
function surroundingsWords({ path, scope }: FigureFacts, come: readonly ImpedancePoints[]): string[] {
  if (path === null || path.surroundings === null || scope.kind !== 'path') return [];
  const values = resolveValues(surroundings, path.surroundings);
  const at = (end: End): Complex | null => come.find((each) => each.end === end)?.reference ?? null;
  const divider = (of: Complex, ohms: number): number => ratioToDecibels(Math.sqrt((of.re + ohms) * (of.re + ohms) + of.im * of.im));
  const [sourceOhms, loadOhms] = [Number(values['sourceOhms']), Number(values['loadOhms'])];
  const [into, from] = [at('input'), at('output')];
  return [
    ...(into === null ? [] : [`A source of ${written(sourceOhms)} loses ${decibels(divider(into, sourceOhms) - ratioToDecibels(size(into)), 2)} into this input at 1 kHz.`]),
    ...(from === null ? [] : [`A load of ${written(loadOhms)} takes ${decibels(divider(from, loadOhms) - ratioToDecibels(loadOhms), 2)} at 1 kHz; load over output impedance (damping) is ${Number((loadOhms / size(from)).toPrecision(3))}.`]),
  ];
}
