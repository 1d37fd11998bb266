/** The explanation a demonstration begins with: plain words made of the path, for whoever buys or uses the equipment; to be edited. Pure. */
import { uncapitalised } from '../first-letter.ts';
import { harshVerdict, judgeOrder, type TrialHarmonics } from '../../../dsp/measure/index.ts';
import { writeQuantity, type OnTrial } from '../../../dsp/path/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import { stageById } from '../../../dsp/stages/index.ts';
import { numericalFloorDb, writeDb, writePercent } from '../harmonic-words.ts';
import { trialNames } from '../path-words.ts';

export function defaultWords({ path }: Setting, onTrial: OnTrial, harmonics: TrialHarmonics): string {
  const names = trialNames(path, onTrial);
  const running = path.stages.filter(({ inCircuit }) => inCircuit);
  const listed = running.map(({ stage }) => uncapitalised(stageById(stage).title));
  return [
    `You hear one recording, again and again, in two ways. "${names.in}" is with ${names.what}; "${names.out}" is without, everything else as it was.${onTrial.kind === 'without' ? '' : ' Wired past means: what comes before then meets what comes after.'}`,
    running.length === 0 ? 'No stage is in circuit.' : `From source to load the signal goes through ${counted(listed.length)}: ${listed.join('; ')}. They are computed from their circuits, part by part, as currents and voltages; nothing of it is a recording of a device.`,
    harmonicWords(harmonics, onTrial),
    'Both ways are equally loud: the louder one was turned down until their loudness is the same (gated K-weighted loudness, Recommendation ITU-R BS.1770). A switch fades over a hundredth of a second, the same in each direction. So what changes when you switch is the sound, not the level.',
  ].join('\n\n');
}

const counted = (count: number): string => (count === 1 ? 'one stage' : `${count} stages`);

/** "With a tone of 200 Hz at +4 dBu it adds: second harmonic 62 dB under the tone (0.078 %), …" */
function harmonicWords({ frequencyHz, levelDbu, scope, measured }: TrialHarmonics, onTrial: OnTrial): string {
  const tone = `a tone of ${writeQuantity(frequencyHz, 'frequency', 'Hz')} at ${writeQuantity(levelDbu, 'level', 'dBu')}`;
  if (measured === null) return `With ${tone} no harmonics can be given: something in the path oscillates.`;
  const heard = measured.harmonics.filter(({ db }) => db >= numericalFloorDb);
  const what = scope === 'path' ? (onTrial.kind === 'path' ? 'it' : 'the whole path') : 'this stage, at the level that reaches it,';
  if (heard.length === 0) return `With ${tone} ${what} adds no harmonic that stands above rounding.`;
  const strongest = [...heard].sort((a, b) => b.db - a.db).slice(0, 3).sort((a, b) => a.order - b.order);
  const harsh = heard.filter(({ order }) => judgeOrder(order).judgement === 'harsh');
  const worst = harsh.reduce<(typeof harsh)[number] | null>((most, figure) => (most === null || figure.db > most.db ? figure : most), null);
  const told = strongest.map(({ order, db, ratio }) => `${ordinal(order)} ${writeDb(Math.abs(db), 0)} dB under the tone (${writePercent(100 * ratio)} %)`);
  return [
    `With ${tone} ${what} adds harmonics, that is whole multiples of the tone; the strongest: ${told.join(', ')}.`,
    worst === null ? 'No order that is commonly judged harsh stands above rounding.'
      : `Of the orders ${harshVerdict} the strongest is the ${ordinal(worst.order)}, ${writeDb(Math.abs(worst.db), 0)} dB under the tone.`,
    `All from the second to the tenth together: ${writePercent(100 * measured.thd.f)} % of the tone.`,
  ].join(' ');
}

const ordinals: readonly string[] = ['', 'first', 'second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth', 'ninth', 'tenth'];
const ordinal = (order: number): string => ordinals[order] ?? `${order}th`;
