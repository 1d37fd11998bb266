import { planPath, type OnTrial, type PathSetting, type PlannedProgram } from '../path/index.ts';
import type { StageReading, StageRemark } from '../stages/index.ts';
import { directResponse, pathResponse } from './path-response.ts';
import { measurePathInSteps, probePeakVolts, type PathMeasurement } from './measure-path.ts';

/** Low, middle, high. */
const frequenciesHz = [20, 1000, 20_000] as const;
const frequencyWords = ['20 Hz', '1 kHz', '20 kHz'] as const;
const orders = [2, 3];

/** Less than this is not spoken of (the smallest step of level that trained listeners tell apart in tones is about 0.2 dB; from memory). */
const audibleDb = 0.1;
/** Nor are harmonics that move by less, or that lie under this in both ways. */
const audibleHarmonicDb = 1;
const quietHarmonicDb = -120;

/** Of a mechanism there is none: it has no interface. */
export type InterfaceOf = Exclude<OnTrial, { readonly kind: 'without' }>;

export interface InterfaceRequest {
  readonly path: PathSetting;
  readonly baseRateHz: number;
  /** Whose interface is judged: the whole path's with its surroundings, or one stage's with its neighbours. */
  readonly of: InterfaceOf;
  readonly joints?: readonly ({ readonly joined: boolean } | null)[] | null;
  readonly probe?: { readonly frequencyHz: number; readonly levelDbu: number };
  readonly known?: Map<string, PlannedProgram>;
}

/** What one frequency says, dB. */
export interface InterfaceFigure {
  readonly hz: number;
  /** Source and load, or the neighbours, wired through without it. */
  readonly without: number;
  /** It alone, between an ideal source and no load but its own. */
  readonly itself: number;
  /** With it, as it stands. */
  readonly inPlace: number;
  /** What neither of the other two does: in place less without less itself. */
  readonly interface: number;
}

/** dB against the fundamental. */
export interface InterfaceHarmonic {
  readonly order: number;
  readonly itself: number;
  readonly inPlace: number;
}

export interface InterfaceVerdict {
  readonly response: readonly InterfaceFigure[];
  /** Null where one of the ways does not repeat itself. */
  readonly harmonics: readonly InterfaceHarmonic[] | null;
  readonly readings: readonly StageReading[];
  readonly remarks: readonly StageRemark[];
}

/**
 * Separates what a stage (or the whole path) does from what its interface does: its source and load see something else when it is there. Responses are of the
 * analogue circuits, small signal; harmonics are those of a tone at the path's input (of a stage: as strong as what reaches it there). Off the audio thread; yields
 * between measurements; throws PathError, and RangeError for a stage that is not in the path.
 */
export function* interfaceVerdict(request: InterfaceRequest): Generator<void, InterfaceVerdict> {
  const { of } = request;
  const { path } = request;
  if (of.kind === 'stage' && !path.stages.some(({ key }) => key === of.key)) {
    throw new RangeError(`interface: expected one of the path's stages (${path.stages.map(({ key }) => key).join(', ')}), got ${of.key}`);
  }
  const withIt = switched(path, of, true);
  const alone = of.kind === 'path' ? { ...path, surroundings: null } : { ...path, surroundings: null, stages: withIt.stages.filter(({ key }) => key === of.key) };
  const response = responses(request, withIt, alone);
  yield;
  const harmonics = yield* harmonicsBothWays(request, withIt, alone);
  return { response, harmonics, readings: readingsOf(response, harmonics), remarks: [{ label: 'interface', words: wordsOf(of, response, harmonics) }] };
}

const noSupply = (path: PathSetting): PathSetting => ({ ...path, supply: null });

function switched(path: PathSetting, of: InterfaceOf, inCircuit: boolean): PathSetting {
  return of.kind === 'path' ? path : { ...path, stages: path.stages.map((stage) => (stage.key === of.key ? { ...stage, inCircuit } : stage)) };
}

/** By the plainest rule: what is asked of the plan is the analogue circuit of each stage. */
function responses({ path, baseRateHz, joints = null, of }: InterfaceRequest, withIt: PathSetting, alone: PathSetting): InterfaceFigure[] {
  const db = (setting: PathSetting, verdicts: InterfaceRequest['joints'], direct = false): number[] => {
    const plan = planPath(noSupply(setting), baseRateHz, { rule: 'T1', joints: verdicts ?? null });
    return (direct ? directResponse : pathResponse)(setting, plan, frequenciesHz, { exact: true }).map((point) => point.db);
  };
  const inPlace = db(withIt, joints);
  const without = of.kind === 'path' ? db(path, joints, true) : db(switched(path, of, false), joints);
  const itself = db(alone, of.kind === 'path' ? joints : null);
  return frequenciesHz.map((hz, k) => ({
    hz, without: without[k]!, itself: itself[k]!, inPlace: inPlace[k]!, interface: inPlace[k]! - without[k]! - itself[k]!,
  }));
}

function* harmonicsBothWays(
  { baseRateHz, joints = null, of, known, probe = { frequencyHz: 1000, levelDbu: 4 } }: InterfaceRequest, withIt: PathSetting, alone: PathSetting,
): Generator<void, InterfaceHarmonic[] | null> {
  const options = { grade: 'measuring', ...(known ? { known } : {}) } as const;
  const peakVolts = probePeakVolts(probe.levelDbu);
  const { frequencyHz } = probe;
  const plan = planPath(noSupply(withIt), baseRateHz, { ...options, joints });
  yield;
  const inPlace: PathMeasurement = yield* measurePathInSteps(plan, {
    frequencyHz, peakVolts, orders, scope: of.kind === 'path' ? { kind: 'path' } : { kind: 'stage', key: of.key },
  });
  if (inPlace.oscillates) return null;
  let reaching = peakVolts;
  if (of.kind === 'stage') {
    const place = plan.stages.findIndex(({ members }) => members.some(({ key }) => key === of.key));
    const before = yield* measurePathInSteps({ ...plan, stages: plan.stages.slice(0, place) }, { frequencyHz, peakVolts, orders: [], scope: { kind: 'path' } });
    if (before.oscillates) return null;
    reaching = before.fundamental.peakVolts;
  }
  const itself = yield* measurePathInSteps(planPath(noSupply(alone), baseRateHz, { ...options, joints: of.kind === 'path' ? joints : null }), {
    frequencyHz, peakVolts: reaching, orders, scope: { kind: 'path' },
  });
  if (itself.oscillates) return null;
  return inPlace.harmonics.map(({ order, db }, k) => ({ order, itself: itself.harmonics[k]!.db, inPlace: db }));
}

function readingsOf(response: readonly InterfaceFigure[], harmonics: readonly InterfaceHarmonic[] | null): StageReading[] {
  const gain = (label: string, value: number, note: string): StageReading => ({ label, value, quantity: 'gain', unit: 'dB', note });
  return [
    ...response.flatMap((figure, k) => [
      gain(`itself at ${frequencyWords[k]!}`, figure.itself, 'between an ideal source and no load but its own'),
      gain(`interface at ${frequencyWords[k]!}`, figure.interface, `in its place ${signed(figure.inPlace)} dB; wired through without it ${signed(figure.without)} dB`),
    ]),
    ...(harmonics ?? []).filter(({ itself, inPlace }) => Math.max(itself, inPlace) > quietHarmonicDb).map(({ order, itself, inPlace }): StageReading => ({
      label: `H${order} itself`, value: itself, quantity: 'harmonic-amount', unit: 'dB', note: `in its place ${signed(inPlace)} dB`,
    })),
  ];
}

/** One or two sentences: what is its own doing, what its interface's. */
function wordsOf(of: InterfaceOf, response: readonly InterfaceFigure[], harmonics: readonly InterfaceHarmonic[] | null): string {
  const name = of.kind === 'path' ? 'the path' : 'the stage';
  const [low, middle, high] = response as [InterfaceFigure, InterfaceFigure, InterfaceFigure];
  const parts: string[] = [];
  if (Math.abs(middle.interface) >= audibleDb) parts.push(`${signed(middle.interface)} dB of level`);
  for (const [figure, words] of [[low, 'at 20 Hz'], [high, 'at 20 kHz']] as const) {
    const tilt = figure.interface - middle.interface;
    if (Math.abs(tilt) >= audibleDb) parts.push(`${signed(tilt)} dB ${words} against 1 kHz (${name} itself ${signed(figure.itself - middle.itself)} dB)`);
  }
  for (const { order, itself, inPlace } of harmonics ?? []) {
    if (Math.max(itself, inPlace) > quietHarmonicDb && Math.abs(inPlace - itself) >= audibleHarmonicDb) parts.push(`${signed(inPlace - itself)} dB of H${order}`);
  }
  const own = `Wired through without it, its place does ${signed(middle.without)} dB at 1 kHz and ${signed(high.without - middle.without)} dB more at 20 kHz.`;
  if (parts.length === 0) return `What is heard is ${name} itself: its interface changes level and response by less than ${audibleDb} dB.`;
  return `Not ${name} but its interface makes ${parts.length > 1 ? `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)!}` : parts[0]!}: impedances before and behind it meet others than without it. ${own}`;
}

function signed(db: number): string {
  const rounded = Math.round(100 * db) / 100 + 0;
  return `${rounded < 0 ? '−' : '+'}${Math.abs(rounded).toFixed(2)}`;
}
