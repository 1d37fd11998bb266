/** The figure of a small-signal response. */
import type { StageValues } from '../../../stages/index.ts';
import { frequencyAxis, linearAxis } from '../axes.ts';
import type { Figure, FigureFacts, FigureMark, FigureTable, FigureTrace } from '../contract.ts';
import { internalRateHz, scopeWords } from '../tone.ts';
import { column, decibels, hertz, signed } from '../words.ts';
import type { ResponseCurve } from './curve.ts';
import { audibleHz, steepDbPerOctave, type Extreme, type ReadOuts, type ResponsePoints } from './read-outs.ts';

/** A band's own middle is no resonance: a peak is told from so much above 1 kHz on, dB. */
const leastPeakDb = 0.05;
const told = (peaks: readonly Extreme[], referenceDb: number): readonly Extreme[] => peaks.filter(({ db }) => db - referenceDb >= leastPeakDb);
/** So many peaks and dips are told. */
const mostExtremes = 4;

export function drawResponse(facts: FigureFacts, values: StageValues, [analogue, running]: readonly (ResponsePoints | undefined)[]): Figure {
  const absolute = values['reference'] === 'absolute';
  const said = analogue?.readOuts ?? running?.readOuts ?? null;
  const referenceDb = absolute ? 0 : said?.referenceDb ?? 0;
  const relative = !absolute && said !== null;
  const curves = [
    ...(running?.curve ? [{ curve: running.curve, id: 'running', label: 'as it runs', role: 'main' as const }] : []),
    ...(analogue?.curve ? [{ curve: analogue.curve, id: 'analogue', label: 'analogue', role: 'ideal' as const }] : []),
  ];
  const traces = (of: (curve: ResponseCurve) => readonly number[]): FigureTrace[] => curves.map(({ curve, id, label, role }) => ({ id, label, axis: 'left', role, drawn: 'line', x: curve.hz, y: of(curve) }));
  const x = frequencyAxis(Number(values['fromHz']), Number(values['toHz']));
  const magnitude = traces(({ db }) => db.map((each) => each - referenceDb));
  const slope = traces(({ dbPerOctave }) => dbPerOctave);
  const phase = traces(({ phaseDegrees }) => phaseDegrees);
  const delay = traces(({ groupDelaySeconds }) => groupDelaySeconds);
  const difference = differenceOf(analogue?.curve ?? null, running?.curve ?? null);
  return {
    title: `Frequency response, ${scopeWords(facts)}`,
    caption: said === null ? '' : `${sentence(said, absolute)}${differenceWords(difference)}.`,
    panels: [
      { title: 'Magnitude', x, left: linearAxis({ label: relative ? 'level re 1 kHz' : 'level, output over input', unit: 'dB', leastSpan: 6, bounds: [-140, 140] }, magnitude), traces: magnitude, marks: said === null ? [] : marksOf(said, referenceDb) },
      { title: 'Slope', x, left: linearAxis({ label: 'slope', unit: 'dB/octave', leastSpan: 2, bounds: [-120, 120] }, slope), traces: slope, marks: [] },
      { title: 'Phase', x, left: linearAxis({ label: 'phase', unit: 'degrees', leastSpan: 20 }, phase), traces: phase, marks: [] },
      { title: 'Group delay', x, left: linearAxis({ label: 'group delay', unit: 's', written: 'prefixed', leastSpan: 1e-6 }, delay), traces: delay, marks: [] },
    ],
    tables: [...(said === null ? [] : [readOutTable(said)]), ...pointTables(analogue?.curve ?? null, running?.curve ?? null, referenceDb, relative)],
    remarks: [
      'Small signals round the operating point, output volts per volt at the source, level controls and polarity included, the resampling ladder not.',
      `As it runs: with the integration rule of the measuring grade at ${hertz(internalRateHz(facts))}, up to half of that.`,
      `Slope and group delay are central differences over a ten-thousandth of an octave to either side; slope is read from ${hertz(audibleHz[0])} to ${hertz(audibleHz[1])}.`,
      ...(analogue !== undefined && analogue.curve === null ? ['The analogue circuit is not known here: the curve is that of what runs.'] : []),
    ],
  };
}

const slopeWords = (dbPerOctave: number): string => `${signed(dbPerOctave, 2)} dB/octave`;

function sentence({ referenceDb, lowerHz, upperHz, peaks, dips, steepest, steepOctaves }: ReadOuts, absolute: boolean): string {
  const edges = lowerHz === null && upperHz === null ? 'within 3 dB over the whole range'
    : lowerHz === null ? `3 dB down at ${hertz(upperHz!)}`
      : upperHz === null ? `3 dB down at ${hertz(lowerHz)} below` : `3 dB down at ${hertz(lowerHz)} and at ${hertz(upperHz)}`;
  const height = (db: number): string => (absolute ? `${signed(db, 2)} dB` : `${signed(db - referenceDb, 2)} dB re 1 kHz`);
  const [highest] = told(peaks, referenceDb);
  const peak = highest === undefined ? '' : `; peak of ${height(highest.db)} at ${hertz(highest.hz)}`;
  const dip = dips[0] === undefined ? '' : `; undershoot of ${decibels(dips[0].prominenceDb, 2)} at ${hertz(dips[0].hz)}`;
  const steep = steepest === null ? '' : `; steepest ${slopeWords(steepest.dbPerOctave)} at ${hertz(steepest.hz)}, ${steepOctaves.toFixed(2)} octaves with ${steepDbPerOctave} dB/octave or more`;
  return `Gain ${signed(referenceDb, 2)} dB at 1 kHz, ${edges}${peak}${dip}${steep}`;
}

function marksOf({ lowerHz, upperHz, peaks, dips, referenceDb: atReference }: ReadOuts, referenceDb: number): FigureMark[] {
  return [
    ...(lowerHz === null ? [] : [{ x: lowerHz, words: `−3 dB at ${hertz(lowerHz)}` }]),
    ...(upperHz === null ? [] : [{ x: upperHz, words: `−3 dB at ${hertz(upperHz)}` }]),
    ...[...told(peaks, atReference).slice(0, 1), ...dips.slice(0, 1)].map(({ hz, db }) => ({ x: hz, y: db - referenceDb, words: `${signed(db - referenceDb, 2)} dB at ${hertz(hz)}` })),
  ];
}

function readOutTable({ referenceDb, lowerHz, upperHz, peaks, dips, steepest, steepOctaves }: ReadOuts): FigureTable {
  return {
    columns: [column.text('read-out'), column.hertz('at'), { label: 'value', unit: '', written: 'plain', digits: 4 }, column.text('unit')],
    rows: [
      { cells: ['gain', 1000, referenceDb, 'dB'] },
      ...(lowerHz === null ? [] : [{ cells: ['3 dB below 1 kHz, lower', lowerHz, null, ''] }]),
      ...(upperHz === null ? [] : [{ cells: ['3 dB below 1 kHz, upper', upperHz, null, ''] }]),
      ...told(peaks, referenceDb).slice(0, mostExtremes).map(({ hz, db }) => ({ cells: ['peak, re 1 kHz', hz, db - referenceDb, 'dB'] })),
      ...dips.slice(0, mostExtremes).map(({ hz, prominenceDb }) => ({ cells: ['undershoot, below the nearer side', hz, prominenceDb, 'dB'] })),
      ...(steepest === null ? [] : [{ cells: ['steepest slope', steepest.hz, steepest.dbPerOctave, 'dB/octave'] }]),
      { cells: [`${steepDbPerOctave} dB/octave or more over`, null, steepOctaves, 'octaves'] },
    ],
  };
}

/** Of level, where both curves have the same frequency. */
function differenceOf(analogue: ResponseCurve | null, running: ResponseCurve | null): { readonly hz: number; readonly db: number } | null {
  if (analogue === null || running === null) return null;
  const at = new Map(analogue.hz.map((hz, k) => [hz, analogue.db[k]!]));
  let worst: { readonly hz: number; readonly db: number } | null = null;
  running.hz.forEach((hz, k) => {
    const exact = at.get(hz);
    if (exact === undefined || hz > audibleHz[1]) return;
    const db = running.db[k]! - exact;
    if (worst === null || Math.abs(db) > Math.abs(worst.db)) worst = { hz, db };
  });
  return worst;
}

function differenceWords(difference: { readonly hz: number; readonly db: number } | null): string {
  if (difference === null) return '';
  return Math.abs(difference.db) < 5e-5 ? '; as it runs it is the same within 0.0001 dB up to 20 kHz' : `; as it runs it differs by at most ${signed(difference.db, 4)} dB up to 20 kHz, at ${hertz(difference.hz)}`;
}

function pointTables(analogue: ResponseCurve | null, running: ResponseCurve | null, referenceDb: number, relative: boolean): FigureTable[] {
  const first = analogue ?? running;
  if (first === null) return [];
  const level = relative ? 'level re 1 kHz' : 'level';
  const runningAt = new Map((running ?? first).hz.map((hz, k) => [hz, (running ?? first).db[k]! - referenceDb]));
  return [{
    columns: [
      column.hertz('frequency'), { label: level, unit: 'dB', written: 'plain', digits: 4 }, ...(analogue && running ? [{ label: `${level} as it runs`, unit: 'dB', written: 'plain' as const, digits: 4 }] : []),
      { label: 'slope', unit: 'dB/octave', written: 'plain', digits: 3 }, { label: 'phase', unit: 'degrees', written: 'plain', digits: 3 }, { label: 'group delay', unit: 's', written: 'prefixed', digits: 5 },
    ],
    rows: first.hz.map((hz, k) => ({
      cells: [hz, first.db[k]! - referenceDb, ...(analogue && running ? [runningAt.get(hz) ?? null] : []), first.dbPerOctave[k]!, first.phaseDegrees[k]!, first.groupDelaySeconds[k]!],
    })),
  }];
}
