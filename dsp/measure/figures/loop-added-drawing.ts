/** The figure of what a path adds to a loop. */
import { ratioToDecibels } from '../../math/index.ts';
import { peakVoltsToDbu, type StageValues } from '../../stages/index.ts';
import { loudestMoments, type AddedBand, type AddedMoment, type LinearPart, type LoopAdded } from '../loop/index.ts';
import { bandWords } from './band-words.ts';
import type { Figure, FigureAxis, FigureFacts, FigureMark, FigurePanel, FigureTable, FigureTrace } from './contract.ts';
import { scopeWords } from './tone.ts';
import { column, decibels, signed } from './tones/words.ts';

/** Under this, re the music, nothing is told: what the small-signal run and rounding leave lies there. */
const floorDb = -130;
/** A moment or band this far under the loudest has no ratio worth telling. */
const quietDb = -80;
const [listedMoments, markedMoments, apartSeconds] = [8, 3, 0.1] as const;

const partWords: Readonly<Record<LinearPart, string>> = {
  moment: 'small signals with the gain of the moment', region: 'small signals with one gain and delay', 'small-signal': 'small signals alone',
};

/** Of a mean square; a sine of full scale is 0 dBFS. */
const dbfs = (meanSquare: number): number => ratioToDecibels(Math.sqrt(2 * meanSquare));
const ratioDb = (a: number, b: number): number => ratioToDecibels(Math.sqrt(a / b));
const gap = (db: number, least = floorDb): number => (db >= least ? db : NaN);

export function drawLoopAdded(facts: FigureFacts, values: StageValues, points: { readonly done: number; readonly found: LoopAdded | null } | undefined): Figure {
  const { title, frames, rateHz, startSeconds = 0 } = facts.programme!;
  const heading = `What ${facts.scope.kind === 'path' ? 'the path' : 'the stage'} adds to the music, ${scopeWords(facts)}, ${title}`;
  const found = points?.found ?? null;
  if (found === null) {
    const caption = points === undefined ? 'Nothing is measured yet.' : `The loop is rendered: ${Math.round(100 * points.done)} %.`;
    return { title: heading, caption, panels: [], tables: [], remarks: [] };
  }
  const part = values['linearPart'] as LinearPart;
  const fullScaleDbu = peakVoltsToDbu(facts.samplePeakVolts);
  const ends = { startSeconds, endSeconds: startSeconds + frames / rateHz };
  const audible = found.total.added > 0 && ratioDb(found.total.added, found.total.linear) >= floorDb;
  const loudest = audible ? loudestMoments(found.moments, listedMoments, apartSeconds).filter(({ added, around }) => around > 0 && ratioDb(added, found.total.linear) >= floorDb) : [];
  return {
    title: heading,
    caption: captionOf(found, loudest, fullScaleDbu, ends, audible),
    panels: [
      stripPanel(found, loudest, ends),
      ...(found.momentGains === null ? [] : [gainPanel(found.momentGains, ends)]),
      spectrumPanel(found, audible),
      differencePanel(found.bands),
    ],
    tables: [momentTable(loudest, fullScaleDbu, ends.startSeconds), bandTable(found, fullScaleDbu), wayTable(found, part)],
    remarks: remarksOf(found, part, values['momentSeconds'] as number),
  };
}

interface Ends {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

function captionOf({ total, bands }: LoopAdded, loudest: readonly AddedMoment[], fullScaleDbu: number, { startSeconds, endSeconds }: Ends, audible: boolean): string {
  const over = `From ${startSeconds.toFixed(2)} to ${endSeconds.toFixed(2)} s`;
  if (!audible) return `${over} nothing is added above ${decibels(floorDb)} re the music.`;
  const most = bands.reduce((a, b) => (b.added > a.added ? b : a));
  const where = loudest[0] === undefined ? '' : `; it acts most at ${(startSeconds + middle(loudest[0])).toFixed(2)} s, ${decibels(ratioDb(loudest[0].added, loudest[0].around))} re the music there`;
  const slow = total.slow > total.added ? `; the bias moves by more than that below 20 Hz, ${decibels(ratioDb(total.slow, total.linear))} re the music` : '';
  return `${over} ${decibels(ratioDb(total.added, total.linear))} re the music is added, ${decibels(dbfs(total.added))}FS or ${signed(dbfs(total.added) + fullScaleDbu, 1)} dBu in all, most of it round ${bandWords(most.centreHz)}${where}${slow}.`;
}

const middle = ({ fromSeconds, toSeconds }: AddedMoment): number => (fromSeconds + toSeconds) / 2;
const seconds = ({ startSeconds, endSeconds }: Ends): FigureAxis => ({ label: 'place in the loop', unit: 's', scale: 'linear', written: 'plain', from: startSeconds, to: endSeconds });
/** Ten decibels wide, round what is shown. */
function around(label: string, unit: string, shown: ArrayLike<number>, least: number, room: number): FigureAxis {
  const numbers = Array.from(shown).filter((value) => Number.isFinite(value));
  const top = numbers.reduce((a, b) => Math.max(a, b), -Infinity);
  const foot = numbers.reduce((a, b) => Math.min(a, b), Infinity);
  const to = numbers.length === 0 ? 0 : 10 * Math.ceil(top / 10);
  return { label, unit, scale: 'linear', written: 'plain', from: Math.max(least, Math.min(to - 20, Math.max(to - room, numbers.length === 0 ? to - room : 10 * Math.floor(foot / 10)))), to };
}

function stripPanel({ moments, total }: LoopAdded, loudest: readonly AddedMoment[], ends: Ends): FigurePanel {
  const x = moments.map((moment) => ends.startSeconds + middle(moment));
  const loudestMusic = moments.reduce((most, { linear }) => Math.max(most, linear), 0);
  const told = (power: number, around: number): number => (around > 0 && ratioDb(around, loudestMusic) >= quietDb && ratioDb(power, total.linear) >= floorDb ? ratioDb(power, around) : NaN);
  const ratio = moments.map(({ added, around }) => told(added, around));
  const bias = moments.map(({ slow, around }) => told(slow, around));
  const music = moments.map(({ linear }) => gap(dbfs(linear), floorDb));
  const marks = loudest.slice(0, markedMoments).map((moment): FigureMark => ({ x: ends.startSeconds + middle(moment), words: `${(ends.startSeconds + middle(moment)).toFixed(2)} s` }));
  return {
    title: 'where in the loop it acts', x: seconds(ends), selects: 'region',
    left: around('added', 'dB re the music round it', [...ratio, ...bias], floorDb, 100), right: around('music', 'dBFS', music, -100, 80),
    traces: [
      { id: 'music', label: 'music', axis: 'right', role: 'ideal', drawn: 'line', x, y: music },
      { id: 'bias', label: 'below 20 Hz', axis: 'left', role: 'difference', drawn: 'line', x, y: bias },
      { id: 'added', label: 'added', axis: 'left', role: 'main', drawn: 'line', x, y: ratio },
    ],
    marks,
  };
}

function gainPanel(gains: readonly Float64Array[], ends: Ends): FigurePanel {
  const labels = gains.length === 2 ? ['left', 'right'] : ['gain'];
  const roles = ['main', 'second'] as const;
  const traces = gains.map((knots, channel): FigureTrace => ({
    id: labels[channel]!, label: labels[channel]!, axis: 'left', role: roles[channel]!, drawn: 'line',
    // The last knot is the first again.
    x: Array.from({ length: knots.length + 1 }, (_, k) => ends.startSeconds + (k * (ends.endSeconds - ends.startSeconds)) / knots.length),
    y: Array.from({ length: knots.length + 1 }, (_, k) => (knots[k % knots.length]! > 0 ? ratioToDecibels(knots[k % knots.length]!) : NaN)),
  }));
  const most = traces.flatMap(({ y }) => Array.from(y)).reduce((a, b) => (Math.abs(b) > a ? Math.abs(b) : a), 0);
  const reach = [0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30].find((db) => db >= most) ?? 100;
  return {
    title: 'gain of the moment beside small signals', x: seconds(ends), selects: 'region',
    left: { label: 'gain', unit: 'dB', scale: 'linear', written: 'plain', from: -reach, to: reach }, traces, marks: [],
  };
}

const hertz: FigureAxis = { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: 20, to: 20_000 };

/** Held from each band's lower edge to its upper one. */
function stair(id: string, label: string, role: FigureTrace['role'], bands: readonly AddedBand[], db: (band: AddedBand) => number): FigureTrace {
  const y = bands.map(db);
  return { id, label, axis: 'left', role, drawn: 'stair', x: [...bands.map(({ fromHz }) => fromHz), ...bands.slice(-1).map(({ toHz }) => toHz)], y: [...y, ...y.slice(-1)] };
}

function spectrumPanel({ bands, total }: LoopAdded, audible: boolean): FigurePanel {
  const told = (band: AddedBand): boolean => audible && band.added > 0 && ratioDb(band.added, total.linear) >= floorDb;
  const traces = [
    stair('music', 'music as it comes out', 'second', bands, ({ linear }) => gap(dbfs(linear), -200)),
    stair('added', 'added', 'main', bands, (band) => (told(band) ? dbfs(band.added) : NaN)),
  ];
  return { title: 'by bands', x: hertz, left: around('level in a band', 'dBFS', traces.flatMap(({ y }) => Array.from(y)), -200, 140), traces, marks: [] };
}

function differencePanel(bands: readonly AddedBand[]): FigurePanel {
  const loudest = bands.reduce((most, { dry }) => Math.max(most, dry), 0);
  const heard = (band: AddedBand): boolean => band.dry > 0 && ratioDb(band.dry, loudest) >= quietDb;
  const traces = [
    stair('small signals', 'linear part', 'ideal', bands, (band) => (heard(band) ? ratioDb(band.linear, band.dry) : NaN)),
    stair('difference', 'out less in', 'main', bands, (band) => (heard(band) ? ratioDb(band.out, band.dry) : NaN)),
  ];
  const shown = traces.flatMap(({ y }) => Array.from(y)).filter((value) => Number.isFinite(value));
  const reach = Math.max(1, ...shown.map((db) => Math.ceil(Math.abs(db))));
  return { title: 'level in bands, out less in', x: hertz, left: { label: 'difference', unit: 'dB', scale: 'linear', written: 'plain', from: -reach, to: reach }, traces, marks: [] };
}

const dbColumn = (label: string, unit: string, digits = 1): FigureTable['columns'][number] => ({ label, unit, written: 'plain', digits });
/** −∞ and what lies under the floor have no figure. */
const cell = (db: number, least = -200): number | null => (db >= least ? db : null);

function momentTable(loudest: readonly AddedMoment[], fullScaleDbu: number, startSeconds: number): FigureTable {
  return {
    columns: [
      { label: 'moment', unit: 's', written: 'plain', digits: 2 }, dbColumn('added, re the music there', 'dB'), dbColumn('added', 'dBFS'), dbColumn('added', 'dBu'), dbColumn('music there', 'dBFS'), dbColumn('music there', 'dBu'),
    ],
    rows: loudest.map((moment) => ({
      cells: [
        startSeconds + middle(moment), ratioDb(moment.added, moment.around), dbfs(moment.added), dbfs(moment.added) + fullScaleDbu, dbfs(moment.linear), dbfs(moment.linear) + fullScaleDbu,
      ],
    })),
  };
}

function bandTable({ bands, total }: LoopAdded, fullScaleDbu: number): FigureTable {
  const row = (label: number | string, { dry, linear, out, added }: Pick<AddedBand, 'dry' | 'linear' | 'out' | 'added'>): FigureTable['rows'][number] => {
    const told = added > 0 && ratioDb(added, total.linear) >= floorDb;
    return {
      cells: [
        typeof label === 'number' ? bandWords(label) : label, cell(dbfs(dry)), cell(dbfs(out)), dry > 0 ? cell(ratioDb(out, dry)) : null, dry > 0 ? cell(ratioDb(linear, dry)) : null,
        told ? dbfs(added) : null, told ? dbfs(added) + fullScaleDbu : null, told && linear > 0 ? cell(ratioDb(added, linear)) : null,
      ],
    };
  };
  return {
    columns: [
      column.text('band round'), dbColumn('in', 'dBFS'), dbColumn('out', 'dBFS'), dbColumn('out less in', 'dB', 2), dbColumn('of it linear', 'dB', 2),
      dbColumn('added', 'dBFS'), dbColumn('added', 'dBu'), dbColumn('added, re the music in the band', 'dB'),
    ],
    rows: [
      ...bands.map((band) => row(band.centreHz, band)), row('everything from 20 Hz', total),
      row('below 20 Hz', { dry: 0, linear: 0, out: 0, added: total.slow }),
    ],
  };
}

function wayTable({ left, total }: LoopAdded, part: LinearPart): FigureTable {
  const rows: readonly (readonly [string, number])[] = [
    ...(['moment', 'region', 'small-signal'] as const).map((way) => [`${partWords[way]}${way === part ? ' (used)' : ''}`, left[way]] as const),
    ['small signals, a gain and phase of its own in every third octave', left.bandFit],
    ['the circuit not known: gain and phase in every third octave of the loop', left.blindFit],
  ];
  return {
    columns: [column.text('what counts as linear'), dbColumn('left, from 0 Hz, re the music', 'dB')],
    rows: rows.map(([words, power]) => ({ cells: [words, power > 0 ? cell(ratioDb(power, total.linear), floorDb) : null] })),
  };
}

function remarksOf({ gain, delaySeconds, drift, addedMean, total }: LoopAdded, part: LinearPart, momentSeconds: number): string[] {
  const fitted = part === 'small-signal' ? ''
    : `, times ${signed(ratioToDecibels(Math.abs(gain)), 3)} dB and ${signed(1e9 * delaySeconds, 1)} ns fitted by least squares over the region${part === 'moment' ? `, and a gain of its own every ${Math.round(1000 * momentSeconds)} ms` : ''}`;
  const driftDb = ratioToDecibels(drift);
  const meanDb = total.added > 0 ? ratioDb(addedMean * addedMean, total.linear) : -Infinity;
  return [
    `The linear part is the path’s own response to small signals: the same loop 80 dB down, both ways up${fitted}. It is exact to the sample: of stages that are linear it leaves less than −250 dB, of others less than ${decibels(floorDb)}, under which nothing is told. Circuits are followed as they are heard, at the grade of listening.`,
    'What least squares find without knowing the circuit, band by band, stands in the last table: it takes a steep filter for something added, which is why the circuit’s own response is used.',
    `Along the loop, what is added in ${Math.round(1000 * momentSeconds)} ms is told re the loudest music of that moment and the two beside it.`,
    'From music it cannot be told which harmonic or which intermodulation product of which tone a part of it is: that needs a tone (harmonics, intermodulation).',
    'Nor whether it is heard: the music masks what lies near it in time and frequency, and no masking is counted here.',
    `A bias that moves with the music shows as something added at low frequencies; what lies below 20 Hz stands apart from the rest${meanDb > floorDb ? `, at 0 Hz it is ${decibels(meanDb)} re the music` : ''}. Noise and hum are left out.`,
    driftDb > floorDb ? `The loop goes round and the path has settled for 4 s; its end differs from that of the pass before by ${decibels(driftDb)}.` : 'The loop goes round, and the path has settled: one pass is like the next.',
  ];
}
