/** Thirty-one tones at once, and what stands between them: closer to music than one tone, and still told apart from it. */
import { densityAt, integrateDensity, noiseFrequencies, type SolverFigures } from '../../../circuit/index.ts';
import { power, ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter } from '../../../stages/index.ts';
import type { OutputDensity } from '../../noise-harmonics.ts';
import { kilohertz, meterMultitone, multitoneDrive, multitoneSignal, steadyTones, thirdOctaves, toneCount } from '../../tones/index.ts';
import { figureView, type Figure, type FigureFacts, type FigureTable, type FigureTrace } from '../contract.ts';
import { internalRateHz, oscillation, scopeWords } from '../tone.ts';
import { backgroundOf } from './background.ts';
import { column, decibels, ratioWords, signedDbu, whyNoTones } from './words.ts';

const [lowHz, highHz] = [20, 20_000];
/** Below this, over all tones together, a line is rounding and what a solve leaves. */
const floorDb = -150;
/** What the plot shows of the lines between the tones: the strongest of each of so many parts of an octave. */
const partsPerOctave = 48;

const parameters = [
  makeParameter.level({
    id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 30], default: 4,
    help: 'At the source: the level of a sine with the same peak as all tones together; their rms lies lower by the crest factor.',
  }),
];

interface Points {
  readonly crest: number;
  /** Mean squares, V². */
  readonly tones: readonly { readonly hz: number; readonly meanSquare: number }[];
  readonly tonesMeanSquare: number;
  readonly betweenMeanSquare: number;
  readonly evenDb: number;
  readonly oddDb: number;
  readonly thirds: Float64Array;
  /** In each third octave; null where the path's noise is off. */
  readonly noiseThirds: Float64Array | null;
  /** Of noise and ripple, 20 Hz – 20 kHz. */
  readonly backgroundMeanSquare: number;
  /** Strongest line of each part of an octave. */
  readonly between: { readonly hz: readonly number[]; readonly meanSquare: readonly number[] };
  readonly solver: SolverFigures;
}

export const multitoneView = figureView<null, Points>({
  id: 'multitone',
  title: 'Multitone',
  help: 'Thirty-one tones at once, and the distortion and noise between them, by third octaves.',
  parameters,
  refuse: (facts) => whyNoTones(facts, highHz),
  split: () => [null],
  *measure(subject, values) {
    const rateHz = internalRateHz(subject);
    const signal = yield* multitoneSignal(rateHz);
    const spacingHz = rateHz / signal.frames;
    const hertz = signal.cycles.map((cycles) => cycles * spacingHz);
    const run = yield* steadyTones(subject.plan, multitoneDrive(signal, dbuToPeakVolts(values['levelDbu'] as number)), subject.scope, { wantSpectralRadius: false });
    if (run.oscillates) throw oscillation(subject, run.oscillates);
    const reading = meterMultitone({ samples: run.output, rateHz, repeats: true }, hertz, { onOddLines: true });
    if (reading.refusal !== undefined) throw new RangeError(reading.refusal);
    yield undefined;
    const { noise, ripple } = backgroundOf(subject);
    const noiseThirds = noise === null ? null : Float64Array.from(thirdOctaves, ({ fromHz, toHz }) => bandMeanSquare(noise, fromHz, toHz));
    return {
      crest: signal.crest, tones: reading.tones, tonesMeanSquare: reading.tonesMeanSquare, betweenMeanSquare: reading.betweenMeanSquare,
      evenDb: reading.evenDb!, oddDb: reading.oddDb!, thirds: reading.thirdsMeanSquare, noiseThirds,
      backgroundMeanSquare: (noise === null ? 0 : bandMeanSquare(noise, lowHz, highHz)) + ripple.reduce((sum, { peakVolts }) => sum + (peakVolts * peakVolts) / 2, 0),
      between: strongestLines(reading.between, spacingHz), solver: run.solver,
    };
  },
  draw(facts, values, [points]): Figure {
    const level = signedDbu(values['levelDbu'] as number);
    const title = `Multitone, ${toneCount} tones peaking as a sine at ${level}, ${scopeWords(facts)}`;
    if (points === undefined) return { title, caption: 'Nothing measured yet.', panels: [panelOf([])], tables: [], remarks: [] };
    return { title, caption: captionOf(points), panels: [panelOf(tracesOf(points))], tables: tablesOf(points), remarks: remarksOf(facts, points) };
  },
});

function bandMeanSquare({ hz, density }: OutputDensity, fromHz: number, toHz: number): number {
  const grid = noiseFrequencies(fromHz, toHz, 100);
  return integrateDensity(grid, grid.map((each) => densityAt(hz, density, each)));
}

function strongestLines(between: Float64Array, spacingHz: number): Points['between'] {
  const hz: number[] = [];
  const meanSquare: number[] = [];
  const ratio = power(2, 1 / partsPerOctave);
  for (let from = lowHz; from < highHz; from *= ratio) {
    let strongest = -1;
    for (let line = Math.ceil(from / spacingHz); line * spacingHz < from * ratio && line < between.length; line += 1) {
      if (between[line]! >= 0 && (strongest < 0 || between[line]! > between[strongest]!)) strongest = line;
    }
    if (strongest < 0) continue;
    hz.push(strongest * spacingHz);
    meanSquare.push(between[strongest]!);
  }
  return { hz, meanSquare };
}

const over = (meanSquare: number, reference: number): number => ratioToDecibels(Math.sqrt(meanSquare / reference));

function panelOf(traces: readonly FigureTrace[]): Figure['panels'][number] {
  return {
    title: 'Tones, and what stands between them',
    x: { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: lowHz, to: highHz },
    left: { label: 'level', unit: 'dB re all tones', scale: 'linear', written: 'plain', from: floorDb, to: 0 },
    traces, marks: [],
  };
}

function tracesOf({ tones, tonesMeanSquare, thirds, noiseThirds, between }: Points): FigureTrace[] {
  const shown = (meanSquare: number): number => aboveFloor(over(meanSquare, tonesMeanSquare)) ?? NaN;
  const centres = thirdOctaves.map(({ centreHz }) => centreHz);
  return [
    { id: 'between', label: 'between the tones', axis: 'left', role: 'difference', drawn: 'line', x: between.hz, y: between.meanSquare.map(shown) },
    { id: 'tones', label: 'tones', axis: 'left', role: 'main', drawn: 'uprights', x: tones.map(({ hz }) => hz), y: tones.map(({ meanSquare }) => shown(meanSquare)) },
    { id: 'thirds', label: 'third octaves, distortion', axis: 'left', role: 'second', drawn: 'points', x: centres, y: Array.from(thirds, shown) },
    ...(noiseThirds === null ? [] : [{ id: 'noise', label: 'third octaves, noise', axis: 'left', role: 'noise', drawn: 'points', x: centres, y: Array.from(noiseThirds, shown) } as const]),
  ];
}

function captionOf({ tonesMeanSquare, betweenMeanSquare, backgroundMeanSquare, evenDb, oddDb, crest }: Points): string {
  const ratio = (meanSquare: number): string => ratioWords(Math.sqrt(meanSquare / tonesMeanSquare), over(meanSquare, tonesMeanSquare), floorDb);
  const noise = backgroundMeanSquare > 0 ? `, with the path's noise ${ratio(betweenMeanSquare + backgroundMeanSquare)}` : '';
  return `Between the tones ${ratio(betweenMeanSquare)} of them all, ${kilohertz(lowHz)} to ${kilohertz(highHz)}: ${parted(evenDb)} of even order, ${parted(oddDb)} of odd${noise}; crest ${ratioToDecibels(crest).toFixed(1)} dB.`;
}

function parted(db: number): string {
  return db > floorDb ? decibels(db) : `under ${decibels(floorDb)}`;
}

function tablesOf({ tones, tonesMeanSquare, betweenMeanSquare, backgroundMeanSquare, evenDb, oddDb, thirds, noiseThirds, crest }: Points): FigureTable[] {
  const cells = (meanSquare: number): [number | null, number | null] => {
    const db = aboveFloor(over(meanSquare, tonesMeanSquare));
    return [db === null ? null : 100 * Math.sqrt(meanSquare / tonesMeanSquare), db];
  };
  const volts = Math.sqrt(tonesMeanSquare);
  const practice = 'common practice, no source';
  return [
    {
      columns: [column.text('figure'), column.percent('ratio'), column.decibels('level'), column.text('what is counted, over what'), column.text('source')],
      rows: [
        { cells: ['between the tones', ...cells(betweenMeanSquare), 'all lines without a tone by power, over all tones', practice] },
        { cells: ['of even order', evenDb > floorDb ? 100 * Math.sqrt(power(10, evenDb / 10)) : null, aboveFloor(evenDb), 'even lines: the tones stand on odd ones', 'R. Pintelon, J. Schoukens, System Identification, 2001 (odd multisines; from memory)'] },
        { cells: ['of odd order', oddDb > floorDb ? 100 * Math.sqrt(power(10, oddDb / 10)) : null, aboveFloor(oddDb), 'odd lines without a tone; what falls on a tone is not seen', 'R. Pintelon, J. Schoukens, System Identification, 2001 (odd multisines; from memory)'] },
        ...(backgroundMeanSquare > 0 ? [{ cells: ['noise and ripple of the path', ...cells(backgroundMeanSquare), `${kilohertz(lowHz)} to ${kilohertz(highHz)}, over all tones`, practice] }] : []),
        ...(backgroundMeanSquare > 0 ? [{ cells: ['distortion and noise', ...cells(betweenMeanSquare + backgroundMeanSquare), 'both by power, over all tones', practice] }] : []),
        { cells: ['crest of the drive', null, ratioToDecibels(crest), 'peak over rms of all tones together', practice] },
        { cells: ['all tones at the output', null, null, `${volts.toPrecision(4)} V rms`, practice] },
      ],
    },
    {
      columns: [
        column.hertz('third octave'), { label: 'distortion', unit: 'dB', written: 'plain', digits: 1 },
        ...(noiseThirds === null ? [] : [column.decibels('noise'), column.decibels('both')]),
      ],
      rows: thirdOctaves.map(({ centreHz }, k) => ({
        cells: [
          centreHz, aboveFloor(over(thirds[k]!, tonesMeanSquare)),
          ...(noiseThirds === null ? [] : [aboveFloor(over(noiseThirds[k]!, tonesMeanSquare)), aboveFloor(over(thirds[k]! + noiseThirds[k]!, tonesMeanSquare))]),
        ],
      })),
    },
    {
      columns: [column.hertz('tone'), column.decibels('level')],
      rows: tones.map(({ hz, meanSquare }) => ({ cells: [hz, aboveFloor(over(meanSquare, tonesMeanSquare))] })),
    },
  ];
}

function remarksOf(facts: FigureFacts, { crest, solver, noiseThirds }: Points): string[] {
  return [
    `${toneCount} tones a third octave apart, equally strong, on odd lines of one period (the lowest a little nearer together), in phases that keep the crest at ${ratioToDecibels(crest).toFixed(1)} dB; decibels are over all tones together.`,
    `Laws of even order fall on even lines, where no tone stands; under ${decibels(floorDb)} nothing is shown. The line between the tones is the strongest of each forty-eighth of an octave, dots are whole third octaves.`,
    solver.method === 'settling' ? 'No periodic solution was found: waited until the harmonics of the lowest tone moved by less than 0.001 dB in ten periods.' : `Periodic steady state, rule ${solver.rule}.`,
    ...(noiseThirds === null && facts.path !== null ? ['The path\'s noise is off: switch it on in the supply to see it beside the distortion.'] : []),
    ...(facts.path === null || facts.scope.kind === 'path' ? [] : ['Of one stage: driven with the tones as strong as they reach it, in the phases in which they reach it.']),
  ];
}

function aboveFloor(db: number): number | null {
  return db > floorDb ? db : null;
}
