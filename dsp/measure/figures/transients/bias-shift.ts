/** After a step in drive: how mean, harmonics and what the capacitors hold wander to where they stay. */
import { ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../../stages/index.ts';
import { partName } from '../../stage-names.ts';
import { floorDb } from '../../measure-path.ts';
import { linearAxis } from '../axes.ts';
import { figureView, type Figure, type FigureFacts, type FigureSubject, type FigureTrace } from '../contract.ts';
import { internalRateHz, refuseFrequency, refuseScope, scopeWords, stageName } from '../tone.ts';
import { column, hertz, seconds, signed, signedDbu, volts } from '../words.ts';
import { heldBy, PlayedChain } from './chain.ts';
import { cycleFigures, cycleFrames, looksPerCycle, playedCycle, sineCycle, wanderSeconds, type CycleFigures } from './cycles.ts';
import { timeAxis, timeParameter } from './recovery.ts';
import { drivenAt } from './working-level.ts';

interface HeldTrack {
  /** "1 Single-ended stage: CE" */
  readonly name: string;
  /** Mean over each cycle less that of the cycle before the step, V. */
  readonly shiftVolts: readonly number[];
}

interface ShiftPoints {
  /** End of each cycle after the step, s. */
  readonly seconds: readonly number[];
  readonly cycles: readonly CycleFigures[];
  readonly before: CycleFigures;
  /** Capacitors, the one that moves most first. */
  readonly held: readonly HeldTrack[];
}

const mostHeld = 4;
const cyclesBefore = 30;
/** Of all that wanders, what is less is rounding, V. */
const leastVolts = 1e-7;
const leastDb = 1e-3;

export const biasShiftView = figureView<'all', ShiftPoints>({
  id: 'bias-shift',
  title: 'Bias after a step in drive',
  help: 'How the operating point wanders when the music gets louder: means, harmonics and what coupling and bypass capacitors hold, cycle by cycle.',
  parameters: [
    makeParameter.level({ id: 'beforeDbu', label: 'level before', shortLabel: 'before', range: [-80, 40], default: -20, help: 'At the source, before the step.' }),
    makeParameter.level({ id: 'afterDbu', label: 'level after', shortLabel: 'after', range: [-80, 40], default: 10, help: 'At the source, after the step.' }),
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the tone.' }),
    makeParameter.time({ id: 'watchedSeconds', label: 'watched for', shortLabel: 'watched', range: [1e-3, 20], default: 0.5, help: 'From the step on.' }),
    timeParameter,
  ],
  refuse: (facts, values) => (Number(values['beforeDbu']) === Number(values['afterDbu']) ? `Levels: expected two that differ, got ${signedDbu(Number(values['afterDbu']))} twice.` : refuseFrequency(facts, Number(values['frequencyHz'])) ?? refuseScope(facts)),
  split: () => ['all'],
  measure: measureShift,
  draw,
});

function* measureShift(subject: FigureSubject, values: StageValues): Generator<undefined, ShiftPoints> {
  const rateHz = internalRateHz(subject);
  const frames = cycleFrames(rateHz, Number(values['frequencyHz']));
  const { stages, peakVolts } = yield* drivenAt(subject, dbuToPeakVolts(Number(values['beforeDbu'])));
  const afterVolts = peakVolts * (dbuToPeakVolts(Number(values['afterDbu'])) / dbuToPeakVolts(Number(values['beforeDbu'])));
  const chain = new PlayedChain(stages, subject.plan.grade);
  const parts = heldBy(stages);
  const [now, sum] = [new Float64Array(parts.length), new Float64Array(parts.length)];
  const look = (): void => {
    chain.held(now);
    for (let k = 0; k < now.length; k += 1) sum[k] = sum[k]! + now[k]! / looksPerCycle;
  };
  const sines = sineCycle(frames);
  const count = Math.max(2, Math.round((Number(values['watchedSeconds']) * rateHz) / frames));
  const cycles: CycleFigures[] = [];
  const held: Float64Array[] = [];
  for (let cycle = -cyclesBefore; cycle < count; cycle += 1) {
    sum.fill(0);
    const wave = yield* playedCycle(chain, sines, cycle < 0 ? peakVolts : afterVolts, look);
    if (cycle >= -1) {
      cycles.push(cycleFigures(wave));
      held.push(sum.slice());
    }
    yield undefined;
  }
  const tracks = parts.flatMap(({ planned, name, isCapacitor }, k): HeldTrack[] => {
    if (!isCapacitor) return [];
    const owner = stages.length > 1 ? `${stageName(subject, planned.key)}: ` : '';
    return [{ name: owner + partName(planned, name), shiftVolts: held.slice(1).map((each) => each[k]! - held[0]![k]!) }];
  });
  const reach = ({ shiftVolts }: HeldTrack): number => shiftVolts.reduce((most, each) => Math.max(most, Math.abs(each)), 0);
  return {
    seconds: Array.from({ length: count }, (_, k) => ((k + 1) * frames) / rateHz), before: cycles[0]!, cycles: cycles.slice(1),
    held: tracks.filter((track) => reach(track) > leastVolts).sort((a, b) => reach(b) - reach(a)).slice(0, mostHeld),
  };
}

const roles = ['main', 'second', 'third', 'noise'] as const;
const relative = ({ amplitudes }: CycleFigures, order: 2 | 3): number => Math.max(floorDb, ratioToDecibels(amplitudes[order - 1]! / amplitudes[0]));

function draw(facts: FigureFacts, values: StageValues, [points]: readonly (ShiftPoints | undefined)[]): Figure {
  const levels = `${signedDbu(Number(values['beforeDbu']))} to ${signedDbu(Number(values['afterDbu']))}`;
  const title = `Bias after a step in drive, ${scopeWords(facts)}, ${levels}, ${hertz(Number(values['frequencyHz']))}`;
  const remarks = [
    'The same runners as while playing; mean, gain and harmonics are projections over each cycle by itself. What a capacitor holds is its mean over the cycle less that before the step; those that move most are shown.',
    'Time constant: until what is left of the way to the last cycle is less than 1/e of the furthest; what still moves at the end is not in it.',
    ...(facts.scope.kind === 'stage' ? ['A stage alone is driven as strongly as a sine of 1 kHz at the level before reaches it in the path, and after the step by as much more.'] : []),
  ];
  if (points === undefined) return { title, caption: '', panels: [], tables: [], remarks };
  const { cycles, before, held } = points;
  const x = points.seconds;
  const tracks = [
    { name: 'mean of the output', unit: 'V' as const, values: cycles.map(({ meanVolts }) => meanVolts), from: before.meanVolts },
    { name: 'fundamental', unit: 'dB' as const, values: cycles.map(({ amplitudes: [one] }) => ratioToDecibels(one / cycles.at(-1)!.amplitudes[0])), from: 0 },
    { name: 'H2', unit: 'dB' as const, values: cycles.map((cycle) => relative(cycle, 2)), from: relative(before, 2) },
    { name: 'H3', unit: 'dB' as const, values: cycles.map((cycle) => relative(cycle, 3)), from: relative(before, 3) },
    ...held.map(({ name, shiftVolts }) => ({ name, unit: 'V' as const, values: shiftVolts, from: 0 })),
  ].map((track) => ({ ...track, wander: wanderSeconds(x, track.values, track.unit === 'V' ? leastVolts : leastDb) }));
  const [mean, gain, second, third] = tracks as [typeof tracks[0], typeof tracks[0], typeof tracks[0], typeof tracks[0]];
  const line = (id: string, label: string, role: FigureTrace['role'], y: readonly number[], order?: number): FigureTrace => ({ id, label, axis: 'left', role, ...(order === undefined ? {} : { order }), drawn: 'line', x, y });
  const means = [line('mean', 'mean of the output', 'main', mean.values)];
  const gains = [line('gain', 'fundamental', 'main', gain.values)];
  const harmonics = [line('H2', 'H2', 'second', second.values, 2), line('H3', 'H3', 'second', third.values, 3)];
  const helds = held.map(({ name, shiftVolts }, k) => line(name, name, roles[k]!, shiftVolts));
  const time = timeAxis(values, x);
  const settles = (wander: number): string => (Number.isNaN(wander) ? '' : ` (time constant ${seconds(Number(wander.toPrecision(3)))})`);
  const change = (track: typeof tracks[0]): string => `${signed(track.values[0]!, 1)} to ${signed(track.values.at(-1)!, 1)} dB${settles(track.wander)}`;
  const most = held[0] === undefined ? 'no capacitor’s mean moves' : `${held[0].name} moves by ${volts(Number(held[0].shiftVolts.at(-1)!.toPrecision(3)))}${settles(tracks[4]!.wander)}`;
  return {
    title,
    caption: `From the first cycle after the step to the last H2 goes from ${change(second)}, H3 from ${change(third)}, the fundamental from ${signed(gain.values[0]!, 2)} to 0 dB; ${most}.`,
    panels: [
      { title: 'Mean of the output', x: time, left: linearAxis({ label: 'mean', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, means), traces: means, marks: [] },
      { title: 'Fundamental re its last cycle', x: time, left: linearAxis({ label: 'fundamental', unit: 'dB', leastSpan: 0.2 }, gains), traces: gains, marks: [] },
      { title: 'Harmonics re fundamental', x: time, left: linearAxis({ label: 'amount', unit: 'dB', leastSpan: 10 }, harmonics), traces: harmonics, marks: [] },
      ...(helds.length === 0 ? [] : [{ title: 'What capacitors hold, from before the step', x: time, left: linearAxis({ label: 'shift', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, helds), traces: helds, marks: [] }]),
    ],
    tables: [
      {
        columns: [column.text('what'), column.text('unit'), ...['before', 'first cycle', 'last cycle'].map((label) => ({ label, unit: '', written: 'plain' as const, digits: 5 })), { label: 'time constant', unit: 's', written: 'prefixed', digits: 3 }],
        rows: tracks.map(({ name, unit, values: each, from, wander }) => ({ cells: [name, unit, name === 'fundamental' ? null : from, each[0]!, each.at(-1)!, Number.isNaN(wander) ? null : wander] })),
      },
      {
        columns: [{ label: 'time', unit: 's', written: 'prefixed', digits: 4 }, ...tracks.map(({ name, unit }) => ({ label: name, unit, written: 'plain' as const, digits: 5 }))],
        rows: x.map((each, k) => ({ cells: [each, ...tracks.map((track) => track.values[k]!)] })),
      },
    ],
    remarks,
  };
}
