/** Ways to drive the path's line, fairly compared: response, peak, current, and the level at which each current limit is reached. */
import type { PathSetting } from '../../path/index.ts';
import { logarithmicHertz, resolveValues, stageById, type NumberParameter, type StageValues } from '../../stages/index.ts';
import { compareLineDriving, lineDrivingGainDb, lineDrivingWays, type LineDriving, type LineDrivingWay } from '../line-driving.ts';
import { figureView, type FigureFacts, type FigureTrace } from './contract.ts';

const level: NumberParameter = {
  kind: 'number', id: 'levelDbu', label: 'level of the driver', shortLabel: 'level', spokenLabel: 'level of the driver', quantity: 'level', unit: 'dBu',
  minimum: -20, maximum: 40, default: 24, taper: 'decibel', step: 0.5, help: 'Of the driver’s own voltage, at which its current is stated.',
};
const currentLimits = [0.02, 0.03, 0.05, 0.08, 0.12];

interface Points {
  readonly hertz: readonly number[];
  readonly db: readonly number[];
  readonly figures: LineDriving;
}

/** Values of the line that is meant: of the stage in scope, else of the first line in the path; null: there is none. */
function lineOf(path: PathSetting | null, scope: FigureFacts['scope']): StageValues | null {
  const lines = path?.stages.filter(({ stage }) => stage === 'line') ?? [];
  const meant = (scope.kind === 'stage' ? lines.find(({ key }) => key === scope.key) : undefined) ?? lines[0];
  return meant ? resolveValues(stageById('line'), meant.values) : null;
}

const signed = (value: number, digits = 2): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;
const roles: Readonly<Record<LineDrivingWay, FigureTrace['role']>> = { direct: 'ideal', 'direct, same resistance': 'third', transformer: 'main', 'transformer, damped': 'second' };

export const lineDrivingView = figureView<LineDrivingWay, Points>({
  id: 'line-driving',
  title: 'Ways to drive the line',
  help: 'The path’s line driven direct, direct through the resistance a transformer would have, and through the transformer: what each does to the treble and asks of the driver.',
  parameters: [level],
  refuse: ({ path, scope }) => (lineOf(path, scope) === null ? 'Ways to drive the line: expected a line in the path, got none; add one behind its last stage.' : null),
  split: () => lineDrivingWays,
  * measure({ path, scope }, values, way) {
    const line = lineOf(path, scope)!;
    const figures = compareLineDriving(line, { levelDbu: values['levelDbu'] as number, limitsAmperes: currentLimits }).find((each) => each.way === way)!;
    yield undefined;
    const gainDb = lineDrivingGainDb(line, way);
    const hertz = logarithmicHertz(20, 200_000, 97);
    return { hertz, db: hertz.map((hz) => gainDb(hz) - figures.gainDb), figures };
  },
  draw(_, values, points) {
    const come = points.flatMap((point) => (point ? [point] : []));
    const levelDbu = values['levelDbu'] as number;
    const peaked = come.find(({ figures }) => figures.way === 'transformer')?.figures;
    const asked = come.map(({ figures }) => `${figures.way} ${(1000 * figures.driverPeakAmperes).toFixed(0)} mA`).join(', ');
    const peak = peaked?.peak ? ` The transformer peaks by ${signed(peaked.peak.db)} dB at ${(peaked.peak.hz / 1000).toFixed(1)} kHz.` : '';
    return {
      title: 'Ways to drive the line',
      caption: come.length === 0 ? 'Nothing is measured yet.' : `At 20 kHz and a driver’s voltage of ${signed(levelDbu, 1)} dBu the line takes at its peak: ${asked}.${peak}`,
      panels: [{
        title: 'from the driver’s voltage to the far end, re 1 kHz',
        x: { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: 20, to: 200_000 },
        left: { label: 'level', unit: 'dB', scale: 'linear', written: 'plain', from: -12, to: 12 },
        traces: come.map(({ hertz, db, figures: { way } }): FigureTrace => ({ id: way, label: way, axis: 'left', role: roles[way], drawn: 'line', x: hertz, y: db })),
        marks: [{ x: 20_000, words: '20 kHz' }],
      }],
      tables: [{
        columns: [
          { label: 'driven', unit: '', written: 'plain', digits: 0 },
          { label: 'gain at 1 kHz', unit: 'dB', written: 'plain', digits: 2 }, { label: 'at 20 Hz', unit: 'dB', written: 'plain', digits: 2 }, { label: 'at 20 kHz', unit: 'dB', written: 'plain', digits: 2 },
          { label: 'peak', unit: 'dB', written: 'plain', digits: 2 }, { label: 'peak at', unit: 'Hz', written: 'prefixed', digits: 3 }, { label: '−3 dB at', unit: 'Hz', written: 'prefixed', digits: 3 },
          { label: 'peak current at 20 kHz', unit: 'A', written: 'prefixed', digits: 3 },
          ...currentLimits.map((amperes) => ({ label: `level at ${1000 * amperes} mA`, unit: 'dBu', written: 'plain' as const, digits: 1 })),
        ],
        rows: come.map(({ figures: { way, gainDb, at20HzDb, at20kHzDb, peak: at, upperCornerHz, driverPeakAmperes, limits } }) => ({
          cells: [way, gainDb, at20HzDb, at20kHzDb, at?.db ?? null, at?.hz ?? null, upperCornerHz, driverPeakAmperes, ...limits.map((limit) => limit.levelDbu)],
        })),
      }],
      remarks: [
        'To hear the ways, change “driven by” and the damper on the line’s sheet while it plays: the level match keeps them equally loud.',
        'A transformer does not spare the driver: it delivers the line’s current and its own. A bare amplifier may not be stable into the line; build-out or transformer stands before it.',
      ],
    };
  },
});
