/** After an overload: how long a quiet tone is other than it would have been. */
import { ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../../stages/index.ts';
import { linearAxis } from '../axes.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureSubject, type FigureTrace } from '../contract.ts';
import { internalRateHz, refuseFrequency, refuseScope, scopeWords } from '../tone.ts';
import { column, decibels, hertz, seconds, signedDbu, volts } from '../words.ts';
import { PlayedChain } from './chain.ts';
import { cycleFrames, playedCycle, sineCycle } from './cycles.ts';
import { drivenAt } from './working-level.ts';

interface RecoveryPoints {
  /** Peak of the undisturbed output, V. */
  readonly undisturbedVolts: number;
  /** By cycle, from the end of the burst: the cycle's end, s. */
  readonly seconds: readonly number[];
  /** Mean and largest deviation from the undisturbed output, V. */
  readonly meanVolts: readonly number[];
  readonly deviationVolts: readonly number[];
  /** Output round the burst's end, and the undisturbed one; seconds from it. */
  readonly shown: { readonly seconds: Float64Array; readonly output: Float64Array; readonly undisturbed: Float64Array };
  /** From the end of the burst to the last sample that deviates by more than 1 % and 0.1 % of the undisturbed peak; NaN: longer than was looked. */
  readonly withinSeconds: readonly [number, number];
}

const limits = [0.01, 0.001] as const;
/** Cycles of the quiet tone before the burst, and of its picture after. */
const cyclesBefore = 20;
const cyclesShown = 10;
const leastDb = -120;

const timeAxisParameter = makeParameter.choice({ id: 'time', label: 'time axis', shortLabel: 'time axis', options: [['logarithmic', 'logarithmic'], ['linear', 'linear']], default: 'logarithmic', help: 'How time is drawn.' });

export const recoveryView = figureView<'all', RecoveryPoints>({
  id: 'recovery',
  title: 'Recovery after overload',
  help: 'How long a quiet tone is other than it would have been, after a burst that is far too strong: coupling capacitors that have been charged, loops that have to come back.',
  parameters: [
    makeParameter.level({ id: 'burstDbu', label: 'level of the burst', shortLabel: 'burst', range: [-40, 40], default: 30, help: 'At the source.' }),
    makeParameter.time({ id: 'burstSeconds', label: 'length of the burst', shortLabel: 'burst length', range: [1e-4, 1], default: 0.02, help: 'Rounded to whole cycles.' }),
    makeParameter.level({ id: 'afterDbu', label: 'level before and after', shortLabel: 'after', range: [-80, 30], default: -20, help: 'Of the quiet tone, at the source.' }),
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of both.' }),
    makeParameter.time({ id: 'watchedSeconds', label: 'watched for', shortLabel: 'watched', range: [1e-3, 20], default: 0.5, help: 'From the end of the burst.' }),
    timeAxisParameter,
  ],
  refuse: (facts, values) => {
    if (!(Number(values['burstDbu']) > Number(values['afterDbu']))) return `Levels: expected a burst above the tone after it, got ${signedDbu(Number(values['burstDbu']))} and ${signedDbu(Number(values['afterDbu']))}.`;
    return refuseFrequency(facts, Number(values['frequencyHz'])) ?? refuseScope(facts);
  },
  split: () => ['all'],
  measure: measureRecovery,
  draw,
});

function* measureRecovery(subject: FigureSubject, values: StageValues): Generator<RecoveryPoints | undefined, RecoveryPoints> {
  const rateHz = internalRateHz(subject);
  const frames = cycleFrames(rateHz, Number(values['frequencyHz']));
  const cycleSeconds = frames / rateHz;
  const { stages, peakVolts } = yield* drivenAt(subject, dbuToPeakVolts(Number(values['afterDbu'])));
  const burstVolts = peakVolts * (dbuToPeakVolts(Number(values['burstDbu'])) / dbuToPeakVolts(Number(values['afterDbu'])));
  const sines = sineCycle(frames);
  const [disturbed, undisturbed] = [new PlayedChain(stages, subject.plan.grade), new PlayedChain(stages, subject.plan.grade)];
  const burstCycles = Math.max(1, Math.round(Number(values['burstSeconds']) / cycleSeconds));
  const watched = Math.max(1, Math.round(Number(values['watchedSeconds']) / cycleSeconds));
  const first = cyclesBefore + burstCycles;
  const pictured: { readonly output: Float64Array; readonly undisturbed: Float64Array }[] = [];
  const found = { seconds: [] as number[], meanVolts: [] as number[], deviationVolts: [] as number[] };
  const last: [number, number] = [-1, -1];
  let undisturbedVolts = 0;
  for (let cycle = 0; cycle < first + watched; cycle += 1) {
    const quiet = yield* playedCycle(undisturbed, sines, peakVolts);
    const loud = yield* playedCycle(disturbed, sines, cycle >= cyclesBefore && cycle < first ? burstVolts : peakVolts);
    if (cycle === cyclesBefore - 1) for (const each of quiet) undisturbedVolts = Math.max(undisturbedVolts, Math.abs(each));
    if (cycle >= first - cyclesShown && cycle < first + cyclesShown) pictured.push({ output: loud, undisturbed: quiet });
    if (cycle >= first) {
      let [sum, most] = [0, 0];
      for (let k = 0; k < frames; k += 1) {
        const deviation = loud[k]! - quiet[k]!;
        sum += deviation;
        most = Math.max(most, Math.abs(deviation));
        limits.forEach((limit, j) => {
          if (!(Math.abs(deviation) <= limit * undisturbedVolts)) last[j] = (cycle - first) * frames + k + 1;
        });
      }
      found.seconds.push((cycle - first + 1) * cycleSeconds);
      found.meanVolts.push(sum / frames);
      found.deviationVolts.push(most);
    }
    yield undefined;
  }
  if (!(undisturbedVolts > 0)) throw new RangeError('Nothing comes through of the quiet tone: there is nothing to recover to.');
  const joined = (of: (cycle: { readonly output: Float64Array; readonly undisturbed: Float64Array }) => Float64Array): Float64Array => Float64Array.from(pictured.flatMap((cycle) => [...of(cycle)]));
  const before = Math.min(cyclesShown, first) * frames;
  const within = (j: 0 | 1): number => (last[j] < 0 ? 0 : last[j] >= watched * frames ? NaN : last[j] / rateHz);
  return {
    ...found, undisturbedVolts, withinSeconds: [within(0), within(1)],
    shown: { output: joined(({ output }) => output), undisturbed: joined((cycle) => cycle.undisturbed), seconds: Float64Array.from({ length: pictured.length * frames }, (_, k) => (k - before) / rateHz) },
  };
}

/** From the first cycle's end to the last's. */
export function timeAxis(values: StageValues, times: readonly number[]): FigureAxis {
  const scale = values['time'] === 'linear' ? 'linear' : 'logarithmic';
  return { label: 'time', unit: 's', scale, written: 'prefixed', from: scale === 'linear' ? 0 : times[0]!, to: Math.max(times.at(-1)!, times[0]! * 2) };
}

export const timeParameter = timeAxisParameter;

function draw(facts: FigureFacts, values: StageValues, [points]: readonly (RecoveryPoints | undefined)[]): Figure {
  const title = `Recovery after overload, ${scopeWords(facts)}, ${seconds(Number(values['burstSeconds']))} at ${signedDbu(Number(values['burstDbu']))}, ${hertz(Number(values['frequencyHz']))}`;
  const remarks = [
    'The same runners as while playing, once with the burst and once without; deviation is the difference of the two outputs, over the peak of the undisturbed one.',
    'The tone is a sine that changes its strength at whole cycles.',
    ...(facts.scope.kind === 'stage' ? ['A stage alone is driven as strongly as a sine of 1 kHz at the lower level reaches it in the path, and the burst by as much more.'] : []),
  ];
  if (points === undefined) return { title, caption: '', panels: [], tables: [], remarks };
  const { undisturbedVolts, withinSeconds, shown } = points;
  const wave: FigureTrace[] = [
    { id: 'output', label: 'output', axis: 'left', role: 'main', drawn: 'line', x: shown.seconds, y: shown.output },
    { id: 'undisturbed', label: 'undisturbed', axis: 'left', role: 'ideal', drawn: 'line', x: shown.seconds, y: shown.undisturbed },
  ];
  const db = points.deviationVolts.map((each) => Math.max(leastDb, ratioToDecibels(each / undisturbedVolts)));
  const deviation: FigureTrace[] = [{ id: 'deviation', label: 'largest deviation', axis: 'left', role: 'main', drawn: 'line', x: points.seconds, y: db }];
  const mean: FigureTrace[] = [{ id: 'shift', label: 'shift of the mean', axis: 'left', role: 'main', drawn: 'line', x: points.seconds, y: points.meanVolts }];
  const time = timeAxis(values, points.seconds);
  const words = (within: number): string => (Number.isNaN(within) ? `not within ${seconds(points.seconds.at(-1)!)}` : within === 0 ? 'at once' : `after ${seconds(Number(within.toPrecision(3)))}`);
  const firstMean = points.meanVolts[0]!;
  return {
    title,
    caption: `The output is within 1 % of the undisturbed one ${words(withinSeconds[0])} and within 0.1 % ${words(withinSeconds[1])}; its mean is shifted by ${volts(Number(firstMean.toPrecision(3)))} in the first cycle and ${volts(Number(points.meanVolts.at(-1)!.toPrecision(3)))} in the last.`,
    panels: [
      { title: 'Output round the end of the burst', x: { label: 'time from the end of the burst', unit: 's', scale: 'linear', written: 'prefixed', from: shown.seconds[0]!, to: shown.seconds.at(-1)! }, left: linearAxis({ label: 'output', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, wave), traces: wave, marks: [] },
      { title: 'Deviation, cycle by cycle', x: time, left: linearAxis({ label: 'deviation re undisturbed peak', unit: 'dB', leastSpan: 20 }, deviation), traces: deviation, marks: [{ y: -40, words: '1 %' }, { y: -60, words: '0.1 %' }] },
      { title: 'Shift of the mean', x: time, left: linearAxis({ label: 'shift', unit: 'V', written: 'prefixed', leastSpan: 1e-9 }, mean), traces: mean, marks: [] },
    ],
    tables: [
      { columns: [column.text('within'), { label: 'after', unit: 's', written: 'prefixed', digits: 4 }], rows: [['1 %', 0], ['0.1 %', 1]].map(([label, j]) => ({ cells: [label!, Number.isNaN(withinSeconds[j as 0 | 1]) ? null : withinSeconds[j as 0 | 1]] })) },
      {
        columns: [{ label: 'time', unit: 's', written: 'prefixed', digits: 4 }, { label: 'deviation', unit: 'dB', written: 'plain', digits: 2 }, column.volts('shift of the mean')],
        rows: points.seconds.map((each, k) => ({ cells: [each, db[k]!, points.meanVolts[k]!] })),
      },
    ],
    remarks: [...remarks, `Deviations below ${decibels(leastDb)} are drawn there.`],
  };
}
