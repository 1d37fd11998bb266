/** The figure of a spectrum. */
import { ratioToDecibels } from '../../math/index.ts';
import { peakVoltsToDbu, type StageValues } from '../../stages/index.ts';
import type { SpectrumWindow } from '../spectrum-meter.ts';
import { windowGain, type SpectrumPoints } from '../spectrum-points.ts';
import { bandWords } from './band-words.ts';
import type { Figure, FigureAxis, FigureFacts, FigureMark, FigurePanel, FigureTable, FigureTrace } from './contract.ts';
import { column, decibels, signed } from './tones/words.ts';

/** Nothing is drawn lower: rounding of a 24-bit loop lies above. */
const [floorDbfs, topDbfs] = [-180, 10] as const;
const markedTones = 3;

/** How a power is read. */
interface Reading {
  readonly unit: string;
  db(power: number): number;
  /** Of the floor and top. */
  readonly from: number;
  readonly to: number;
}

export function drawSpectrum(facts: FigureFacts, values: StageValues, points: SpectrumPoints | undefined): Figure {
  const place = values['tapped'] === 'input' ? 'input' : 'output';
  const title = `Spectrum of what plays, ${place}`;
  if (points === undefined || (points.count === 0 && points.of !== 'playing')) return { title, caption: 'Nothing plays: press Play, and its spectrum stands here.', panels: [emptyPanel()], tables: [], remarks: [] };
  if (points.count === 0) {
    return { title, caption: `Listening: one transform takes ${secondsWords(Number(values['size']) / points.rateHz)} of sound.`, panels: [emptyPanel()], tables: [], remarks: [] };
  }
  const fullScaleDbu = peakVoltsToDbu(facts.samplePeakVolts);
  const density = values['reading'] === 'density';
  const reading = readingOf(density, values['unit'] === 'dbu' ? fullScaleDbu : null, points);
  return {
    title, caption: captionOf(points, values, place, fullScaleDbu),
    panels: [panelOf(points, values, reading, density)],
    tables: [toneTable(points, fullScaleDbu), thirdTable(points, fullScaleDbu)],
    remarks: remarksOf(points, values, place),
  };
}

const dbfs = (power: number): number => ratioToDecibels(Math.sqrt(power));

function readingOf(density: boolean, fullScaleDbu: number | null, { noiseBandwidthHz }: SpectrumPoints): Reading {
  const shift = fullScaleDbu ?? 0;
  const name = fullScaleDbu === null ? 'dBFS' : 'dBu';
  return {
    unit: density ? `${name} in 1 Hz` : name, from: floorDbfs + shift, to: topDbfs + shift,
    db: (power) => dbfs(density ? power / noiseBandwidthHz : power) + shift,
  };
}

const hertzAxis: FigureAxis = { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: 20, to: 20_000 };

function emptyPanel(): FigurePanel {
  return { title: 'level', x: hertzAxis, left: { label: 'level', unit: 'dBFS', scale: 'linear', written: 'plain', from: -140, to: 0 }, traces: [], marks: [] };
}

/** A hundred and forty decibels at most, down from the next ten above all that is shown; they stay while levels move within them. */
function levelAxis(label: string, { unit, from, to }: Reading, traces: readonly FigureTrace[]): FigureAxis {
  const top = traces.flatMap(({ y }) => Array.from(y)).reduce((most, db) => (db > most ? db : most), -Infinity);
  const highest = Math.max(from + 20, Math.min(to, 10 * Math.ceil(top / 10)));
  return { label, unit, scale: 'linear', written: 'plain', from: Math.max(from, highest - 140), to: highest };
}

function panelOf(points: SpectrumPoints, values: StageValues, reading: Reading, density: boolean): FigurePanel {
  const shown = (power: number): number => (dbfs(power) >= floorDbfs ? reading.db(power) : NaN);
  if (values['bands'] === 'third-octave') {
    // A band's own level, whatever the reading: it is a sum already.
    const bands = resolved(points);
    const level = { ...reading, unit: values['unit'] === 'dbu' ? 'dBu' : 'dBFS' };
    const y = bands.map(({ power }) => (dbfs(power) >= floorDbfs ? dbfs(power) + (reading.to - topDbfs) : NaN));
    const traces: FigureTrace[] = [{
      id: 'thirds', label: 'third octaves', axis: 'left', role: 'main', drawn: 'stair',
      x: [...bands.map(({ fromHz }) => fromHz), ...bands.slice(-1).map(({ toHz }) => toHz)], y: [...y, ...y.slice(-1)],
    }];
    return { title: 'level in third octaves', x: hertzAxis, left: levelAxis('level in a band', level, traces), traces, marks: [] };
  }
  const x = points.hertz;
  const traces: FigureTrace[] = [
    ...(values['held'] === 'on' ? [{ id: 'held', label: 'held', axis: 'left', role: 'ideal', drawn: 'line', x, y: Array.from(points.held, shown) } as const] : []),
    { id: 'spectrum', label: values['tapped'] === 'input' ? 'input' : 'output', axis: 'left', role: 'main', drawn: 'line', x, y: Array.from(density ? points.means : points.powers, shown) },
  ];
  const marks = density ? [] : points.tones.slice(0, markedTones).map(({ hz, power }): FigureMark => ({ x: hz, y: reading.db(power), words: hertzWords(hz) }));
  return { title: density ? 'density' : 'level', x: hertzAxis, left: levelAxis(density ? 'density' : 'level', reading, traces), traces, marks };
}

/** Bands that hold at least one line's width of noise. */
function resolved({ thirds, noiseBandwidthHz }: SpectrumPoints): SpectrumPoints['thirds'] {
  return thirds.filter(({ fromHz, toHz }) => toHz - fromHz >= noiseBandwidthHz);
}

function captionOf(points: SpectrumPoints, values: StageValues, place: string, fullScaleDbu: number): string {
  const [strongest] = points.tones;
  const what = strongest === undefined ? 'no tone stands out'
    : `strongest at ${hertzWords(strongest.hz)}, ${decibels(dbfs(strongest.power))}FS or ${signed(dbfs(strongest.power) + fullScaleDbu, 1)} dBu`;
  const mean = points.count === 1 || values['averaging'] === 'none' ? 'one transform' : `mean of ${values['averaging'] === 'linear' ? points.count : Math.min(points.count, values['averages'] as number)} transforms`;
  const heading = points.of === 'loop' ? `The loop, rendered, at the ${place}` : points.of === 'stopped' ? `Nothing plays; what played last at the ${place}` : `What plays, at the ${place}`;
  return `${heading}: ${what}; ${mean} of ${secondsWords(Number(values['size']) / points.rateHz)}, lines ${Number(points.spacingHz.toPrecision(3))} Hz apart.`;
}

function toneTable({ tones }: SpectrumPoints, fullScaleDbu: number): FigureTable {
  const strongest = tones[0];
  return {
    columns: [
      column.hertz(), { label: 'level', unit: 'dBFS', written: 'plain', digits: 2 }, { label: 'level', unit: 'dBu', written: 'plain', digits: 2 }, column.decibels('re the strongest'),
    ],
    rows: tones.map(({ hz, power }) => ({ cells: [hz, dbfs(power), dbfs(power) + fullScaleDbu, dbfs(power / strongest!.power)] })),
  };
}

function thirdTable(points: SpectrumPoints, fullScaleDbu: number): FigureTable {
  return {
    columns: [column.text('third octave round'), { label: 'level', unit: 'dBFS', written: 'plain', digits: 1 }, { label: 'level', unit: 'dBu', written: 'plain', digits: 1 }],
    rows: resolved(points).map(({ centreHz, power }) => ({ cells: [bandWords(centreHz), ...(dbfs(power) >= floorDbfs ? [dbfs(power), dbfs(power) + fullScaleDbu] : [null, null])] })),
  };
}

function remarksOf({ noiseBandwidthHz, channels }: SpectrumPoints, values: StageValues, place: string): string[] {
  const dip = -ratioToDecibels(windowGain(0.5, values['window'] as SpectrumWindow));
  return [
    `${place === 'output' ? 'Taken at the path’s output, with the switch and its match gain, before monitor level and limiter' : 'Taken as it goes into the path'}${channels === 2 ? '; the mean power of both channels' : ''}.`,
    `A line reads the level of a tone on it; between two lines a tone reads up to ${dip.toFixed(dip < 0.1 ? 3 : 2)} dB less, and the table reads it off both. Sine of full scale: 0 dBFS.`,
    `Noise reads ${signed(ratioToDecibels(Math.sqrt(noiseBandwidthHz)), 1)} dB above its level in 1 Hz: the window lets ${Number(noiseBandwidthHz.toPrecision(3))} Hz through (equivalent noise bandwidth). Read as density it stands as it is, and a tone does not.`,
    'Averages are of powers (Welch 1967). What lies under the strongest lines may be the window’s own, not the path’s.',
  ];
}

const hertzWords = (hz: number): string => (hz < 1000 ? `${Number(hz.toPrecision(4))} Hz` : `${Number((hz / 1000).toPrecision(4))} kHz`);
const secondsWords = (seconds: number): string => (seconds < 1 ? `${Math.round(1000 * seconds)} ms` : `${seconds.toFixed(2)} s`);
