/** The equaliser's curve for the page: the whole, its sections, and what they say about themselves where it happens. */
import { ratioToDecibels } from '../../math/index.ts';
import type { CurveMark, StageCurve, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { sizeOf } from './complex.ts';
import { listeningHz, matchError } from './match-error.ts';
import { equaliserProgram } from './program.ts';
import { analogueTransfer, sectionsOf } from './prototype.ts';
import type { Bell, Section, Shelf } from './prototype.ts';
import { bellReadOuts, sectionCurve, shelfReadOuts, wantedDbPerOctave } from './read-outs.ts';

const hertz = (hz: number): string => formatValue(Number(hz.toPrecision(3)), 'Hz');
const sectionWords = { 'low-shelf': 'low shelf', 'high-shelf': 'high shelf', bell: 'bell' } as const;
const nameOf = ({ number, kind }: Section): string => `${number} ${sectionWords[kind]}`;

function bellMarks(bell: Bell): readonly CurveMark[] {
  const { edges, bandwidthOctaves, ringingSeconds } = bellReadOuts(bell);
  const rings = ringingSeconds === null ? '' : `, rings ${formatValue(Number(ringingSeconds.toPrecision(2)), 's')}`;
  return [{
    kind: 'bandwidth', section: bell.number, fromHz: edges[0], toHz: edges[1], db: bell.db / 2,
    words: `Q ${formatValue(Number(bell.quality.toPrecision(3)), '')}, ${bandwidthOctaves.toFixed(2)} octaves${rings}`,
  }];
}

function shelfMarks(shelf: Shelf): readonly CurveMark[] {
  const curve = sectionCurve(shelf);
  const { steepest, steep, steepOctaves, undershoot, halfGainHz } = shelfReadOuts(shelf);
  const point = (kind: CurveMark['kind'], hz: number, words: string): CurveMark => ({ kind, section: shelf.number, fromHz: hz, toHz: hz, db: curve(hz), words });
  return [
    point('steepest', steepest.hz, `${Math.abs(steepest.dbPerOctave).toFixed(1)} dB/octave`),
    ...steep.map(([fromHz, toHz]): CurveMark => ({
      kind: 'steep-span', section: shelf.number, fromHz, toHz, db: shelf.db / 2, words: `at least ${wantedDbPerOctave} dB/octave over ${steepOctaves.toFixed(2)} octaves`,
    })),
    ...(undershoot === null ? [] : [point('undershoot', undershoot.hz, `foot ${undershoot.db.toFixed(2)} dB`)]),
    point('turnover', halfGainHz, 'half gain'),
  ];
}

/** "1 bell +2 dB at 2 kHz" */
const sectionSentence = (section: Section): string => `${nameOf(section)} ${section.db > 0 ? '+' : ''}${formatValue(section.db, 'dB')} at ${hertz(section.hertz)}`;

export function equaliserCurve(values: StageValues, rateHz: number): StageCurve {
  const frequencies = listeningHz(values);
  const sections = sectionsOf(values);
  const error = matchError(values, equaliserProgram(values, rateHz));
  const kept = `Analogue curve kept within ${Math.max(1e-4, Math.abs(error.db)).toFixed(4)} dB to 20 kHz.`;
  return {
    hertz: frequencies,
    traces: [
      { label: 'sum', role: 'whole', db: analogueTransfer(values, frequencies).map((transfer) => ratioToDecibels(sizeOf(transfer))) },
      ...sections.map((section) => ({ label: nameOf(section), role: 'part' as const, section: section.number, db: frequencies.map(sectionCurve(section)) })),
    ],
    marks: sections.flatMap((section) => (section.kind === 'bell' ? bellMarks(section) : shelfMarks(section))),
    caption: sections.length === 0 ? 'All sections off: flat.' : `${sections.map(sectionSentence).join(', ')}. ${kept}`,
  };
}
