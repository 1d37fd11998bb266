/** What is heard when only the difference is, in words. Pure. */
import { capital } from '../documents/first-letter.ts';
import { sideWords } from './pair.ts';
import { differenceSounds, raiseInForce, raiseWords } from './reduce-difference.ts';
import { mechanismName, stageName } from './tell.ts';
import type { BenchState } from './state.ts';

/** "what the whole path adds" */
export function differenceSubject(state: BenchState): string {
  const { setting, session: { onTrial, pair } } = state;
  if (pair !== null) return `what ${sideWords(pair.in)} adds less what ${sideWords(pair.out)} adds`;
  switch (onTrial.kind) {
    case 'path': return 'what the whole path adds';
    case 'stage': return `what ${stageName(setting, onTrial.key)} adds`;
    case 'without': return `what ${mechanismName(setting, onTrial.key, onTrial.mechanism)} adds`;
  }
}

/** What the control says of it, short. */
export function differenceNote(state: BenchState): string {
  const { difference } = state.live;
  const { phase, heard, levels } = difference;
  if (!heard) return '';
  switch (phase.kind) {
    case 'none': return 'in a moment';
    case 'stale': return levels === null ? 'in a moment' : `${shortRaise(raiseInForce(difference))}, stale`;
    case 'measuring': return `measuring ${Math.floor(100 * phase.done)} %`;
    case 'ready': return shortRaise(raiseInForce(difference));
    case 'nothing': return 'nothing added';
    case 'refused': return 'not to be had';
  }
}

const shortRaise = (raiseDb: number): string => raiseWords(raiseDb).replace(' by', '');

/** The whole sentence, for the ear and for those who look; null: the listener wants the path. */
export function differenceSentence(state: BenchState): string | null {
  const { difference } = state.live;
  if (!difference.heard) return null;
  const { phase } = difference;
  if (phase.kind === 'nothing') return `Difference: nothing. ${capital(differenceSubject(state))} lies 120 dB or more under the programme; the path is heard.`;
  if (phase.kind === 'refused') return `Difference: ${phase.why} The path is heard.`;
  if (!differenceSounds(state)) return `Difference: ${differenceSubject(state)}, measured in a moment; until then the path is heard.`;
  return `Difference: ${differenceSubject(state)}, ${raiseWords(raiseInForce(difference))}${phase.kind === 'ready' ? '' : ', of before the last change'}.`;
}
