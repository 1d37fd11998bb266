/** The file of a demonstration, from what was rendered: apart from the engine, so that the page's first sight does not wait for it. */
import type { BothWays } from '../../../dsp/measure/loop/index.ts';
import type { DemonstrationContent } from '../../documents/demonstration/content.ts';
import { defaultWords } from '../../documents/demonstration/default-words.ts';
import { demonstrationPage } from '../../documents/demonstration/page.ts';
import playerScript from '../../documents/demonstration/player/player.ts?script-text';
import { encodeBothWays, refuseLength } from '../../documents/demonstration/sound.ts';

export { defaultWords, refuseLength };

/** @param content its `words` null: made of the path */
export function demonstrationFile(content: Omit<DemonstrationContent, 'sound' | 'words'> & { readonly words: string | null }, ways: BothWays, rateHz: number): { readonly text: string; readonly bits: 16 | 24 } {
  const { setting, onTrial, harmonics } = content;
  const sound = encodeBothWays(ways, rateHz);
  const words = content.words ?? defaultWords(setting, onTrial, harmonics);
  return { text: demonstrationPage({ ...content, words, sound }, playerScript), bits: sound.encoding === 'pcm24' ? 24 : 16 };
}
