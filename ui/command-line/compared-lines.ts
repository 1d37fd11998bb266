/** What both kinds of records of listening say first: what was compared, and where they do not agree with themselves. */
import type { Compared } from '../../dsp/setting/index.ts';
import { plain } from './plain.ts';

export function comparedLines({ what, names, programme, region, levelMatch, setting, secondSetting }: Compared): string[] {
  const part = region === null ? 'the whole of it' : `${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s`;
  return [
    plain(`${what}: first ${names[0]}, second ${names[1]}`),
    plain(`on ${programme === null ? 'an unknown programme' : programme.title}, ${part}`),
    `gains ${levelMatch.inGainDb.toFixed(2)} and ${levelMatch.outGainDb.toFixed(2)} dB, ${levelMatch.residualDb.toFixed(3)} dB left between the two`,
    `setting ${setting.sha256}`,
    ...(secondSetting === null ? [] : [`second  ${secondSetting.sha256}`]),
  ];
}

export function disagreementLines(disagreements: readonly string[]): string[] {
  return disagreements.length === 0 ? [] : ['This record does not agree with itself; nothing can be concluded from it.', ...disagreements.map((sentence) => `  ${plain(sentence)}`)];
}
