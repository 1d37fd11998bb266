/** Loop gain where a stage has feedback: level, phase, crossing, margins. */
import { assembleCircuit, findOperatingPoint, loopGainOf, loopProbeName, phaseMargin, withLoopProbe, type CircuitDocument, type Complex, type LoopCrossing } from '../../../circuit/index.ts';
import { atan2, ratioToDecibels } from '../../../math/index.ts';
import { makeParameter, stageById, type StageValues } from '../../../stages/index.ts';
import { frequencyAxis, linearAxis } from '../axes.ts';
import { figureView, type Figure, type FigureFacts, type FigureMark, type FigureSubject, type FigureTrace } from '../contract.ts';
import { refuseScope, scopeWords, stageName } from '../tone.ts';
import { column, decibels, hertz, signed } from '../words.ts';
import { frequencies } from './curve.ts';
import { piecesOf } from './pieces.ts';
import { root } from './read-outs.ts';
import { rangeOf, refuseRange } from './response.ts';

/** Key of the stage whose loop it is. */
type LoopPart = string;

interface LoopPoints {
  readonly key: string;
  readonly hz: readonly number[];
  readonly db: readonly number[];
  /** Of the loop in the sense of negative feedback: 0 subtracts in full, −180 sustains itself. Followed from the lowest frequency. */
  readonly phaseDegrees: readonly number[];
  readonly crossing: LoopCrossing | null;
  /** How far the loop's gain lies below 1 where its phase first reaches −180°; null: not in the range. */
  readonly gainMargin: { readonly hz: number; readonly db: number } | null;
  /** At `toldHz`. */
  readonly toldDb: readonly number[];
}

const toldHz = [1000, 10_000, 20_000] as const;
const sizeDb = ({ re, im }: Complex): number => ratioToDecibels(Math.sqrt(re * re + im * im));
const degrees = ({ re, im }: Complex): number => (180 / Math.PI) * atan2(im, re);
const wound = (phase: number, before: number): number => phase + 360 * Math.round((before - phase) / 360);

/** Keys of the stages in scope that have a loop. */
function loopsOf({ path, scope }: Pick<FigureFacts, 'path' | 'scope'>): readonly string[] {
  if (path === null) return [];
  return path.stages.flatMap(({ key, stage, inCircuit, values }) => (inCircuit && (scope.kind === 'path' || scope.key === key) && (stageById(stage).loopProbe?.(values) ?? null) !== null ? [key] : []));
}

/** The circuit that the stage is in, with a probe in its loop. Throws CircuitError. */
function probedCircuit(subject: FigureSubject, key: string): CircuitDocument {
  const piece = piecesOf(subject).find(({ planned }) => planned.members.some((member) => member.key === key))!;
  const { planned: { members, loaded }, document } = piece;
  const place = members.findIndex((member) => member.key === key);
  const { stage, values } = subject.path!.stages[members[place]!.index]!;
  const { component, node } = stageById(stage).loopProbe!(values)!;
  // In a circuit of several each name carries the number of its part.
  const prefix = members.length > 1 || loaded ? `${place + 1} ` : '';
  return withLoopProbe(document!, prefix + component, prefix + node);
}

export const loopGainView = figureView<LoopPart, LoopPoints>({
  id: 'loop-gain',
  title: 'Loop gain',
  help: 'Of a stage with feedback: how much gain is spent on it at each frequency, where it ends, and how far the loop is from oscillation.',
  parameters: [
    makeParameter.frequency({ id: 'fromHz', label: 'lowest frequency', shortLabel: 'from', range: [0.1, 100_000], default: 10, help: 'Where the curve begins.' }),
    makeParameter.frequency({ id: 'toHz', label: 'highest frequency', shortLabel: 'to', range: [1, 3e9], default: 1e8, help: 'Where the curve ends; margins are looked for in this range.' }),
    makeParameter.ratio({ id: 'perOctave', label: 'points per octave', shortLabel: 'points/oct.', range: [1, 96], default: 6, help: 'How closely the frequencies stand.' }, 1, 'linear'),
  ],
  refuse: (facts, values) => refuseRange(values) ?? refuseScope(facts) ?? refuseWithoutLoop(facts),
  split: loopsOf,
  * measure(subject, values, key) {
    const system = assembleCircuit(probedCircuit(subject, key));
    yield undefined;
    const point = findOperatingPoint(system);
    yield undefined;
    const gain = loopGainOf(system, point, loopProbeName);
    const { fromHz, toHz, perOctave } = rangeOf(values);
    const hz = frequencies(fromHz, toHz, perOctave);
    const db: number[] = [];
    const phaseDegrees: number[] = [];
    for (const each of hz) {
      const found = gain(each);
      db.push(sizeDb(found));
      phaseDegrees.push(wound(degrees(found), phaseDegrees.at(-1) ?? 0));
      yield undefined;
    }
    const crossing = phaseMargin(gain, fromHz, toHz);
    yield undefined;
    return { key, hz, db, phaseDegrees, crossing, gainMargin: yield* gainMarginOf(gain, hz, phaseDegrees), toldDb: toldHz.map((each) => sizeDb(gain(each))) };
  },
  draw,
});

function refuseWithoutLoop(facts: FigureFacts): string | null {
  if (facts.path === null) return 'Loop gain: a circuit document does not say where its loop closes; measure a setting whose stage has one.';
  if (loopsOf(facts).length > 0) return null;
  return facts.scope.kind === 'path' ? 'No stage in circuit has a loop of feedback round an amplifier.' : `Stage ${stageName(facts, facts.scope.key)} has no loop of feedback round an amplifier.`;
}

function* gainMarginOf(gain: (hz: number) => Complex, hz: readonly number[], phases: readonly number[]): Generator<undefined, LoopPoints['gainMargin']> {
  const at = phases.findIndex((phase, k) => k > 0 && phase <= -180 && phases[k - 1]! > -180);
  if (at < 0) return null;
  const found = yield* root((each) => wound(degrees(gain(each)), -180) + 180, hz[at - 1]!, hz[at]!);
  return { hz: found, db: -sizeDb(gain(found)) };
}

const roles = ['main', 'second', 'third'] as const;

function draw(facts: FigureFacts, values: StageValues, points: readonly (LoopPoints | undefined)[]): Figure {
  const { fromHz, toHz } = rangeOf(values);
  const come = points.filter((each) => each !== undefined);
  const name = (key: string): string => stageName(facts, key);
  const traces = (of: (loop: LoopPoints) => readonly number[]): FigureTrace[] =>
    come.map((loop, k) => ({ id: loop.key, label: come.length === 1 ? 'loop gain' : name(loop.key), axis: 'left', role: roles[k % roles.length]!, drawn: 'line', x: loop.hz, y: of(loop) }));
  const level = traces(({ db }) => db);
  const phase = traces(({ phaseDegrees }) => phaseDegrees);
  const x = frequencyAxis(fromHz, toHz);
  const marks = come.flatMap(({ crossing }): FigureMark[] => (crossing === null ? [] : [{ x: crossing.hz, y: 0, words: `crosses 1 at ${hertz(crossing.hz)}` }]));
  return {
    title: `Loop gain, ${scopeWords(facts)}`,
    caption: come.map((loop) => sentence(loop, come.length === 1 ? '' : `${name(loop.key)}: `)).join(' '),
    panels: [
      { title: 'Magnitude', x, left: linearAxis({ label: 'loop gain', unit: 'dB', leastSpan: 40, bounds: [-120, 160] }, level), traces: level, marks },
      { title: 'Phase, short of feedback that subtracts', x, left: linearAxis({ label: 'phase', unit: 'degrees', leastSpan: 180 }, phase), traces: phase, marks: [{ y: -180, words: 'sustains itself' }] },
    ],
    tables: [
      {
        columns: [
          column.text('stage'), ...toldHz.map((hz) => column.decibels(`at ${hertz(hz)}`)), column.hertz('crosses 1 at'),
          { label: 'phase margin', unit: 'degrees', written: 'plain', digits: 1 }, { label: 'gain margin', unit: 'dB', written: 'plain', digits: 1 }, column.hertz('gain margin at'),
        ],
        rows: come.map(({ key, toldDb, crossing, gainMargin }) => ({ cells: [name(key), ...toldDb, crossing?.hz ?? null, crossing?.marginDegrees ?? null, gainMargin?.db ?? null, gainMargin?.hz ?? null] })),
      },
      ...come.map(({ key, hz, db, phaseDegrees }) => ({
        columns: [column.hertz('frequency'), { label: come.length === 1 ? 'loop gain' : `loop gain, ${name(key)}`, unit: 'dB', written: 'plain' as const, digits: 3 }, { label: 'phase', unit: 'degrees', written: 'plain' as const, digits: 2 }],
        rows: hz.map((each, k) => ({ cells: [each, db[k]!, phaseDegrees[k]!] })),
      })),
    ],
    remarks: [
      'Small signals in the analogue circuit as it is wired and loaded, nothing opened: double injection at one place of the loop (Middlebrook 1975; Tian and others 2001).',
      'Phase is counted from feedback that subtracts in full; at −180° and a gain of 1 the loop would sustain itself.',
    ],
  };
}

function sentence({ toldDb, crossing, gainMargin }: LoopPoints, name: string): string {
  const ends = crossing === null ? 'it does not fall through 1 in this range' : `it crosses 1 at ${hertz(crossing.hz)} with ${signed(crossing.marginDegrees, 1)}° of phase margin`;
  const margin = gainMargin === null ? '' : `; gain margin ${decibels(gainMargin.db)} at ${hertz(gainMargin.hz)}`;
  return `${name}loop gain ${toldHz.map((hz, k) => `${decibels(toldDb[k]!)} at ${hertz(hz)}`).join(', ')}; ${ends}${margin}.`.replace(/^./, (first) => first.toUpperCase());
}
